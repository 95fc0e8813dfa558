"""What `tyremark wheel`, `tube` and `pressure` do."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from reader.cli.show import emit
from reader.errors import InputError
from reader.fit import rim_tape as tape
from reader.fit import tube, wheel
from reader.fit.estimate import Estimate
from reader.fit.parts import Rim
from reader.fit.pressure import KPA, convert, parse_pressure
from reader.fit.section import section_width
from reader.names.typed import parse
from reader.records import Size
from reader.tables import load_tables

_GEAR = re.compile(r"\s*(\d{1,3})\s*[/:x]\s*(\d{1,3})\s*")


def run_wheel(text: str, rim: float | None, instead_of: str, gear: str, as_json: bool) -> None:
    """Print a wheel's dimensions, and what changes against another wheel."""
    tables = load_tables()
    size = parse(text, tables).one("tyre").size
    found: dict[str, Any] = {
        "size": size,
        "diameter": wheel.outer_diameter(size),
        "rolling": wheel.rolling(size, tables),
        "room": wheel.clearance(size, rim),
    }
    if rim is not None:
        found["section_width"] = section_width(size, rim)
    if instead_of:
        found["swap"] = wheel.swap(parse(instead_of, tables).one("tyre").size, size, tables)
    if gear:
        found["development"] = wheel.development(size, *_teeth(gear), tables)
    emit(found, _wheel_lines(size, found), as_json, tables)


def _teeth(text: str) -> tuple[int, int]:
    match = _GEAR.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no gear", "write chainring/sprocket, for example 46/18")
    return int(match[1]), int(match[2])


def _line(label: str, value: Estimate) -> str:
    memory = " [from memory]" if value.from_memory else ""
    return f"  {label}: {value}{memory}; {value.formula}"


def _wheel_lines(size: Size, found: dict[str, Any]) -> Iterator[str]:
    yield f"{size}"
    yield _line("outer diameter", found["diameter"])
    rolling: wheel.Rolling = found["rolling"]
    yield _line("circumference", rolling.unloaded)
    yield _line("with the rider on", rolling.ridden)
    if rolling.published:
        listed = ", ".join(f"{row.mm:g} ({row.source})" for row in rolling.published)
        yield f"  published: {listed} mm"
    yield f"  for a computer: {rolling.computer.value:.0f} mm; rolling one turn yourself is better"
    if "section_width" in found:
        yield _line("width on this rim", found["section_width"])
    room: wheel.Clearance = found["room"]
    yield (
        f"  room needed: {room.needed_radius:.0f} mm from the axle, {room.needed_width:.0f} mm "
        f"across (6 mm of air, from memory); mudguard {room.mudguard_width:.0f} mm wide or more "
        "(common practice, no source)"
    )
    if "swap" in found:
        change: wheel.Swap = found["swap"]
        yield f"  against the old wheel: {change.words}; axle {change.radius_mm:+.0f} mm"
        yield "  a rim brake reaches one bead seat diameter only: check the pads too"
    if "development" in found:
        yield _line("one turn of the cranks", found["development"])


def run_tube(text: str, label: str, hole: float | None, rim: float | None, as_json: bool) -> None:
    """Print which tube suits, or whether one does; valve and tape where asked."""
    tables = load_tables()
    size = parse(text, tables).one("tyre").size
    found: dict[str, Any] = {"size": size, "look_for": tube.look_for(size)}
    if label:
        found["verdict"] = tube.suits(tube.parse_tube(label), size)
    else:
        found["labels"] = tube.labels_for(size, tables)
    if hole is not None:
        if not 3 <= hole <= 20:
            raise InputError(f"a valve hole of {hole:g} mm", "give its width, for example 8.5")
        found["valves"] = tape.valves_for(hole)
    if rim is not None:
        bed = Rim(Size(size.bsd, rim))
        found["tape"] = tape.rim_tape(bed)
        found["tubeless_tape"] = tape.rim_tape(bed, tubeless=True)
    emit(found, _tube_lines(size, found), as_json, tables)


def _tube_lines(size: Size, found: dict[str, Any]) -> Iterator[str]:
    if "verdict" in found:
        yield f"{size}: {found['verdict'].grade.value.upper()}: {found['verdict'].reason}"
    yield f"look for {found['look_for']}"
    for one in found.get("labels", ()):
        basis = {"read": "", "memory": " [from memory]", "practice": " [common practice]"}
        yield f"  e.g. {one.text}{basis[one.basis]}"
    for valve in found.get("valves", ()):
        yield f"  {'yes' if valve.goes else 'no'}: {valve.words} [from memory]"
    if "tape" in found:
        yield _line("rim tape", found["tape"])
        yield _line("tubeless tape", found["tubeless_tape"])


def run_pressure(text: str, as_json: bool) -> None:
    """Print a pressure in all units."""
    kpa = parse_pressure(text)
    units = {unit: convert(kpa, unit) for unit in KPA}
    lines = [
        f"{text.strip()} = {units['kpa']:.0f} kPa = {units['bar']:.2f} bar = "
        f"{units['psi']:.1f} psi = {units['kg/cm2']:.2f} kg/cm2",
        "Pump to the lower of the two limits on tyre and rim, never above.",
    ]
    emit(units, lines, as_json, load_tables())
