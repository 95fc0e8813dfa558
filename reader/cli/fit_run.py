"""What `tyremark fit` does: grade a pair, or list partners for one part."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from reader.cli.show import emit
from reader.cli.size_run import understand
from reader.errors import InputError
from reader.fit.doubtful import ReadFit, fit_reading
from reader.fit.grades import Grade
from reader.fit.mount import Fit, fit
from reader.fit.partners import Line, rims_for, tyres_for
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.pressure import at_least, at_most, parse_pressure
from reader.markings import parse_text
from reader.names.explain import as_reading
from reader.names.iso5775 import parse_rim, parse_tyre
from reader.records import Reading
from reader.report import percent
from reader.tables import Tables, load_tables

_PAIR = re.compile(r"\s*\d{1,4}(?:[.,]\d)?\s*[-\u2010-\u2015\u2212/]\s*\d{1,4}\s*")


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
    texts = sorted(parts, key=_is_rim) if len(parts) == 2 else parts  # a tyre first, then a rim
    if len(texts) == 1:
        _list(texts[0], wishes, as_json, tables)
        return
    tyre, rim = _tyre(texts[0], wishes, tables), _rim(texts[1], wishes, tables)
    if isinstance(tyre, Tyre) and isinstance(rim, Rim):
        found = fit(tyre, rim, tables, wishes.use)
        emit(found, _fit_lines(found), as_json, tables)
        return
    read = fit_reading(tyre, rim, tables, wishes.use, _kind(wishes.kind))
    emit(read, _read_lines(read), as_json, tables)


def _is_rim(text: str) -> bool:
    found = parse_text(text)
    return bool(found) and found[0].notation == "rim" and found[0].numbers["order"] == "bsd"


def _kind(text: str) -> RimKind:
    try:
        return RimKind(text.upper())
    except ValueError as error:
        listed = ", ".join(kind for kind in RimKind if kind)
        raise InputError(f"no kind of rim '{text}'", f"give one of {listed}") from error


def _tyre(text: str, wishes: Wishes, tables: Tables) -> Tyre | Reading:
    if not _PAIR.fullmatch(text):
        return as_reading(understand(text, tables, wishes.market))
    tyre = parse_tyre(text, tables)
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


def _rim(text: str, wishes: Wishes, tables: Tables) -> Rim | Reading:
    if not (_PAIR.fullmatch(text) or _is_rim(text)):
        return as_reading(understand(text, tables, wishes.market))
    rim = parse_rim(text, tables)
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


def _list(text: str, wishes: Wishes, as_json: bool, tables: Tables) -> None:
    if _is_rim(text):
        rim = _rim(text, wishes, tables)
        assert isinstance(rim, Rim)
        lines = tyres_for(rim, tables, wishes.use)
        title = f"tyres that may go on {rim}"
        what = "tyre"
    else:
        tyre = _tyre(text, wishes, tables)
        if isinstance(tyre, Reading):
            raise InputError(
                f"a list needs the exact size, not '{text}'",
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
