"""What `tyremark fit` does: grade a pair, or list partners for one part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from reader.cli.show import emit
from reader.errors import InputError
from reader.fit.doubtful import ReadFit, fit_reading
from reader.fit.grades import Grade
from reader.fit.mount import Fit, fit
from reader.fit.partners import Line, rims_for, tyres_for
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.pressure import at_least, at_most, parse_pressure
from reader.names.parts import rim_of, tyre_of
from reader.names.typed import Typed, parse
from reader.records import PartKind, Reading
from reader.report import percent
from reader.tables import Tables, load_tables


@dataclass(frozen=True)
class Wishes:
    """What the user told beside the two sizes."""

    kind: str = ""
    edge: str = ""
    tubeless: bool | None = None
    hookless: bool | None = None
    folding: bool | None = None
    tyre_max: str = ""
    tyre_min: str = ""
    rim_max: str = ""
    use: str = "road"
    market: str = "world"


def run(parts: list[str], wishes: Wishes, as_json: bool) -> None:
    """Grade two parts, or list what goes with one."""
    tables = load_tables()
    typed = [parse(text, tables, wishes.market) for text in parts]
    if len(typed) == 1:
        _list(typed[0], wishes, as_json, tables)
        return
    typed.sort(key=lambda one: one.kind == "rim")  # a tyre first, then a rim
    for kind, other in (("tyre", "rim"), ("rim", "tyre")):
        if all(one.kind == kind for one in typed):
            _two_of_a_kind(typed, kind, other)
    tyre, rim = _tyre(typed[0], wishes, tables), _rim(typed[1], wishes, tables)
    if isinstance(tyre, Tyre) and isinstance(rim, Rim):
        found = fit(tyre, rim, tables, wishes.use)
        emit(found, _fit_lines(found), as_json, tables)
        return
    read = fit_reading(tyre, rim, tables, wishes.use, _kind(wishes.kind))
    emit(read, _read_lines(read), as_json, tables)


def _two_of_a_kind(typed: list[Typed], kind: str, other: str) -> None:
    """Raise InputError: one of the two must be the other part."""
    example = {"rim": "622x19C", "tyre": "37-622"}[other]
    raise InputError(
        f"'{typed[0].text}' and '{typed[1].text}' are two {kind}s",
        f"give a {kind} and a {other}, for example {example} for the {other}",
    )


def _kind(text: str) -> RimKind:
    try:
        return RimKind(text.upper())
    except ValueError as error:
        listed = ", ".join(kind for kind in RimKind if kind)
        raise InputError(f"no kind of rim '{text}'", f"give one of {listed}") from error


def _tyre(typed: Typed, wishes: Wishes, tables: Tables) -> Tyre | Reading:
    if not _measured(typed, "tyre"):
        return typed.reading()
    tyre = tyre_of(typed.one("tyre"), tables)
    try:
        edge = Edge(wishes.edge.lower()) if wishes.edge else tyre.edge
    except ValueError as error:
        raise InputError(f"no edge '{wishes.edge}'", f"give one of {', '.join(Edge)}") from error
    return replace(
        tyre,
        edge=edge,
        tubeless=wishes.tubeless,
        hookless=wishes.hookless,
        folding=wishes.folding,
        min_kpa=parse_pressure(wishes.tyre_min) if wishes.tyre_min else None,
        max_kpa=parse_pressure(wishes.tyre_max) if wishes.tyre_max else None,
    )


def _measured(typed: Typed, part: PartKind) -> bool:
    """Whether the text gives millimetres for this part, so that no doubt is left but the part."""
    return not typed.cautions and len(typed.likely(part)) == 1


def _rim(typed: Typed, wishes: Wishes, tables: Tables) -> Rim | Reading:
    if not _measured(typed, "rim"):
        return typed.reading()
    rim = rim_of(typed.one("rim"), tables)
    given = _kind(wishes.kind)
    if given and rim.kind and given is not rim.kind:
        raise InputError(
            f"the rim's mark says {rim.kind}, the option {given}", "leave one of them out"
        )
    limit = parse_pressure(wishes.rim_max) if wishes.rim_max else None
    return replace(rim, kind=given or rim.kind, max_kpa=limit)


def _fit_lines(found: Fit) -> Iterator[str]:
    provided = ", provided that you check:" if found.checks else ""
    yield f"{found.tyre.size} on {found.rim}: {found.grade.value.upper()}{provided}"
    for check in found.checks:
        yield f"  ? {check}"
    for reason in found.reasons:
        yield f"  - {reason}"
    if found.pressure is not None:
        low, high = found.pressure.low, found.pressure.high
        if high is not None:
            yield f"  at most {at_most(high.kpa)} ({high.by})"
        else:
            yield "  greatest pressure: the lower of what tyre and rim say; neither was given"
        if low is not None:
            yield f"  at least {at_least(low.kpa)} ({low.by})"
    for caution in found.cautions:
        yield f"Mind: {caution}"


def _read_lines(read: ReadFit) -> Iterator[str]:
    yield f"{read.grade.value.upper()}: {read.words}"
    for found, belief in read.outcomes[:5]:
        pair = f"{found.tyre.size} on {found.rim}"
        yield f"  {percent(belief)}: {pair}: {found.grade.value}; {found.reasons[0]}"
    for check in read.outcomes[0][0].checks if read.outcomes else ():
        yield f"  ? {check}"
    for caution in read.outcomes[0][0].cautions if read.outcomes else ():
        yield f"Mind: {caution}"


def _list(typed: Typed, wishes: Wishes, as_json: bool, tables: Tables) -> None:
    if typed.kind == "rim":
        rim = _rim(typed, wishes, tables)
        assert isinstance(rim, Rim)
        lines = tyres_for(rim, tables, wishes.use)
        title = f"tyres that may go on {rim}"
        what = "tyre"
    else:
        tyre = _tyre(typed, wishes, tables)
        if isinstance(tyre, Reading):
            raise InputError(
                f"a list needs the exact size, not '{typed.text}'",
                "write the ISO pair, for example 57-584, or a rim, for example 622x19C",
            )
        kind = _kind(wishes.kind) or RimKind.CROCHET
        lines = rims_for(tyre, tables, kind, wishes.use)
        title = f"rims ({kind}) that may take {tyre.size}"
        what = "rim's inner width"
    data = {
        "title": title,
        "lines": [
            {"size": line.size, "grade": line.fit.grade, "reasons": line.fit.reasons}
            for line in lines
        ],
    }
    emit(data, _list_lines(title, what, lines), as_json, tables)


def _list_lines(title: str, what: str, lines: tuple[Line, ...]) -> Iterator[str]:
    yield f"{title} ({what} in mm):"
    for grade in Grade:
        widths = [format(line.size.width, "g") for line in lines if line.fit.grade is grade]
        if widths:
            yield f"  {grade.value}: {', '.join(widths)}"
    if not lines:
        yield "  none by the tables held here"
    for caution in lines[0].fit.cautions[:3] if lines else ():
        yield f"Mind: {caution}"
    for check in lines[0].fit.checks if lines else ():
        yield f"  ? {check}"
