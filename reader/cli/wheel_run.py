"""What `tyremark wheel`, `tube` and `pressure` do."""

from __future__ import annotations

import re
from typing import Any

from reader.cli.layout import Laid, shown, sources
from reader.cli.show import emit
from reader.errors import ExitCode, InputError
from reader.fit import rim_tape as tape
from reader.fit import tube, wheel
from reader.fit.estimate import Estimate
from reader.fit.parts import Rim
from reader.fit.pressure import KPA, at_least, at_most, convert
from reader.fit.pressure_text import Printed, parse_printed
from reader.fit.section import section_width
from reader.language import N_, counted, number, said
from reader.names.typed import Typed, parse
from reader.records import Size
from reader.table_rows import Circumference
from reader.tables import Tables, load_tables

_GEAR = re.compile(r"\s*(\d{1,3})\s*[/:x]\s*(\d{1,3})\s*")


def run_wheel(
    text: str, rim: float | None, instead_of: str, gear: str, why: bool, as_json: bool
) -> ExitCode:
    """Print a wheel's dimensions, and what changes against another wheel."""
    tables = load_tables()
    old = parse(instead_of, tables).one("tyre").size if instead_of else None
    answers = []
    for size in _sizes(parse(text, tables)):
        found: dict[str, Any] = {
            "size": size,
            "diameter": wheel.outer_diameter(size),
            "rolling": wheel.rolling(size, tables),
            "room": wheel.clearance(size, rim),
        }
        if rim is not None:
            found["section_width"] = section_width(size, rim)
        if old is not None:
            found["swap"] = wheel.swap(old, size, tables)
        if gear:
            found["development"] = wheel.development(size, *_teeth(gear), tables)
        answers.append((found, _lay_wheel(found, tables)))
    return _emit(answers, why, as_json, tables)


def _sizes(typed: Typed) -> list[Size]:
    """Every tyre size that the text can mean: one, or one a diameter.

    Raises:
        InputError: it names a diameter and no width.
    """
    sizes = [one.size for one in typed.likely("tyre")]
    for size in sizes:
        if size.width is None:
            raise InputError(
                f"'{typed.text}' names no width", f"write it before the diameter: 37-{size.bsd}"
            )
    return sizes


def _emit(
    answers: list[tuple[dict[str, Any], Laid]], why: bool, as_json: bool, tables: Tables
) -> ExitCode:
    """One answer, or one for each diameter that the text can mean: then nothing is settled."""
    if len(answers) == 1:
        found, laid = answers[0]
        emit(found, shown(laid, why), as_json, tables)
        return ExitCode.OK
    lines: list[str] = []
    for found, laid in answers:
        laid.head = said(f"if it is {found['size'].bsd}: {laid.head}")
        lines += shown(laid if why else Laid(laid.head), why)
    emit({"either": [found for found, _ in answers]}, lines, as_json, tables)
    return ExitCode.NOTHING_READ


def _teeth(text: str) -> tuple[int, int]:
    match = _GEAR.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no gear", "write chainring/sprocket, for example 46/18")
    return int(match[1]), int(match[2])


def _line(label: str, value: Estimate) -> str:
    memory = f" [{said('from memory')}]" if value.from_memory else ""
    return f"{label}: {said(str(value))}{memory}; {said(value.formula)}"


def _lay_wheel(found: dict[str, Any], tables: Tables) -> Laid:
    size: Size = found["size"]
    rolling: wheel.Rolling = found["rolling"]
    low, high = rolling.computer.low, rolling.computer.high
    count = len({row.source for row in rolling.published})
    by = counted(count, "%(count)s list", "%(count)s lists")
    by = by if count else said("by formula, no list has it")
    laid = Laid(said(f"{size}: circumference {low:.0f} to {high:.0f} mm ({by})"))
    if "swap" in found:
        change: wheel.Swap = found["swap"]
        laid.lines.append(
            said(
                f"was {change.old.value:.0f} mm, now {change.new.value:.0f}: {_change(change)}; "
                f"axle {change.radius_mm:+.0f} mm"
            )
        )
        laid.why.append(f"{said(change.words)} ({said(f'both by: {change.new.formula}')})")
        laid.why.append(said("a rim brake reaches one bead seat diameter only: check the pads too"))
    if "development" in found:
        laid.lines.append(said(f"one turn of the cranks: {found['development']}"))
    if "section_width" in found:
        width = said(str(found["section_width"]))
        laid.lines.append(said(f"width on this rim: {width} (from memory and a rider's tyres)"))
    diameter: Estimate = found["diameter"]
    laid.lines.append(
        said(f"{diameter.value:.0f} mm across ({diameter.low:.0f} to {diameter.high:.0f})")
    )
    room: wheel.Clearance = found["room"]
    laid.lines.append(
        said(
            f"room: {room.needed_radius:.0f} mm from the axle, {room.needed_width:.0f} mm wide; "
            f"mudguard {room.mudguard_width:.0f} mm"
        )
    )
    laid.lines.append(said("rolling one turn with the rider on and measuring beats every list"))
    laid.why += _wheel_why(found, tables)
    return laid


def _change(change: wheel.Swap) -> str:
    share = change.distance_share
    if abs(share) < 0.005:
        return said("gears stay as they were")
    return said(f"gears {abs(100 * share):.1f} % {'harder' if share > 0 else 'easier'}")


def _wheel_why(found: dict[str, Any], tables: Tables) -> list[str]:
    rolling: wheel.Rolling = found["rolling"]
    why = []
    for mm, rows in rolling.by_value:
        who = "; ".join(
            f"{tables.source_title(row.source)}{f', {_sold_as(row)}' if row.inferred else ''}"
            for row in rows
        )
        why.append(f"{mm:g} mm: {who}")
    loads = {
        "none": said("unloaded"),
        "light": said("lightly loaded"),
        "ridden": said("with the rider on"),
    }
    why += [
        f"{row.mm:g} mm {loads[row.load]}: {tables.source_title(row.source)}"
        for row in rolling.measured
    ]
    why.append(_line(said("estimate"), rolling.unloaded))
    why.append(_line(said("with the rider on"), rolling.ridden))
    why.append(_line(said("outer diameter"), found["diameter"]))
    if "section_width" in found:
        why.append(_line(said("width on this rim"), found["section_width"]))
    why.append(
        said("room: 6 mm of air (from memory); mudguard 10 mm wider (common practice, no source)")
    )
    return why


def _sold_as(row: Circumference) -> str:
    return said(f"as {row.sold_as}")


def run_tube(
    text: str, label: str, hole: float | None, rim: float | None, why: bool, as_json: bool
) -> ExitCode:
    """Print which tube suits, or whether one does; valve and tape where asked."""
    tables = load_tables()
    printed = tube.parse_tube(label, tables) if label else None
    if hole is not None and not 3 <= hole <= 20:
        raise InputError(f"a valve hole of {hole:g} mm", "give its width, for example 8.5")
    answers, goes = [], True
    for size in _sizes(parse(text, tables)):
        found: dict[str, Any] = {"size": size, "look_for": tube.look_for(size)}
        if printed is not None:
            found["tube"] = printed
            found["verdict"] = tube.suits(printed, size)
            goes = goes and found["verdict"].grade is tube.Suits.YES
        else:
            found["labels"] = tube.labels_for(size, tables)
        if hole is not None:
            found["valves"] = tape.valves_for(hole)
            goes = goes and _valve_goes(found)
        if rim is not None:
            bed = Rim(Size(size.bsd, rim))
            found["tape"] = tape.rim_tape(bed)
            found["tubeless_tape"] = tape.rim_tape(bed, tubeless=True)
        answers.append((found, _lay_tube(found, tables)))
    status = _emit(answers, why, as_json, tables)
    return status if goes else ExitCode.NOTHING_READ


def _valve_goes(found: dict[str, Any]) -> bool:
    """Whether the label's own valve goes through the hole; no valve told bars nothing."""
    valve = found["tube"].valve if "tube" in found else ""
    return all(one.goes for one in found["valves"] if one.key == valve)


def _lay_tube(found: dict[str, Any], tables: Tables) -> Laid:
    size: Size = found["size"]
    if "verdict" in found:
        verdict: tube.TubeVerdict = found["verdict"]
        laid = Laid(f"{size}: {said(_SUITS[verdict.grade])}")
        laid.lines.append(said(verdict.reason))
    else:
        laid = Laid(said(f"{size}: look for {found['look_for']}"))
    marks = {
        "read": "",
        "memory": f" ({said('from memory')})",
        "practice": f" ({said('common practice, no source')})",
    }
    labels = [f"{one.text}{marks[one.basis]}" for one in found.get("labels", ())]
    if labels:
        laid.lines.append(said(f"for example {', '.join(labels[:3])}"))
        laid.why += [said(f"also {text}") for text in labels[3:]]
    told = found["tube"].valve if "tube" in found else ""
    for valve in found.get("valves", ()):
        if told in ("", valve.key):
            yes = said("yes") if valve.goes else said("no")
            laid.lines.append(said(f"valve: {yes}, {valve.words} (from memory)"))
    if "tape" in found:
        laid.lines.append(
            said(f"rim tape: {found['tape']}; tubeless tape: {found['tubeless_tape']}")
        )
        laid.why += [said("tape widths: common practice, no source")]
    if "verdict" in found:
        laid.why += [said(f"look for {found['look_for']}")]
    laid.why += sources(
        [one.source for one in found.get("labels", ())]
        + ([found["verdict"].source] if "verdict" in found else []),
        dict(tables.sources),
    )
    return laid


_SUITS = {
    tube.Suits.YES: N_("this tube SUITS"),
    tube.Suits.CANT_TELL: N_("this tube CAN'T TELL"),
    tube.Suits.NO: N_("this tube DOES NOT SUIT"),
}


def run_pressure(text: str, why: bool, as_json: bool) -> ExitCode:
    """Print a pressure, or the range that is printed on a part, in all units."""
    printed = parse_printed(text)
    ends = {"low": printed.low, "high": printed.high}
    units = {
        end: {unit: convert(kpa, unit) for unit in KPA} if kpa is not None else None
        for end, kpa in ends.items()
    }
    laid = _lay_pressure(printed)
    emit({**units, "differs": printed.differs}, shown(laid, why), as_json, load_tables())
    return ExitCode.OK


def _lay_pressure(printed: Printed) -> Laid:
    low, high = printed.low, printed.high
    if low is None or high is None:
        kpa = high if low is None else low
        assert kpa is not None
        laid = Laid(
            f"{printed.text} = {kpa:.0f} kPa = {number(convert(kpa, 'bar'), 2)} bar = "
            f"{number(convert(kpa, 'psi'), 1)} psi = {number(convert(kpa, 'kg/cm2'), 2)} kg/cm2"
        )
        greatest = said("taken as the greatest pressure")
        laid.lines.append(greatest if low is None else said("taken as the least pressure"))
    else:
        laid = Laid(said(f"{printed.text}: between both ends"))
        laid.lines += [said(f"at least {at_least(low)}"), said(f"at most {at_most(high)}")]
    if printed.differs:
        laid.lines.append(said(printed.differs))
    laid.lines.append(said("Pump to the lower of the two limits on tyre and rim, never above."))
    return laid
