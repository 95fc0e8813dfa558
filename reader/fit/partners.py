"""Lists: which tyre widths go on a rim, and which rim widths take a tyre."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.grades import ALLOWED, GRADES, USABLE, Grade
from reader.fit.mount import Fit, fit
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.records import Size
from reader.tables import Tables

NEAR = 5  # mm between neighbouring widths of one run


@dataclass(frozen=True)
class Line:
    """One width that can go, and how well."""

    size: Size
    fit: Fit


@dataclass(frozen=True)
class Listing:
    """Lines that can go, best grade first; `widths` are all that exist, ascending.

    `holes` are runs of widths that no table allows though narrower and wider ones are: from, to,
    and the allowed neighbours, mm.
    """

    lines: tuple[Line, ...]
    widths: tuple[float, ...]
    holes: tuple[tuple[float, float, float, float], ...]

    def __iter__(self) -> Iterator[Line]:
        return iter(self.lines)

    def __len__(self) -> int:
        return len(self.lines)


def tyres_for(rim: Rim, tables: Tables, use: str = "road") -> Listing:
    """Nominal tyre widths that may go on the rim, best grade first, then by width.

    On a hookless rim the tyres are taken as tubeless and approved; each line still says so.

    Raises:
        InputError: the rim's inner width is not known.

    >>> from reader.tables import load_tables
    >>> lines = tyres_for(Rim(Size(622, 15)), load_tables())
    >>> [str(line.size) for line in lines if line.fit.grade is Grade.CURRENT]
    ['18-622', '19-622', '20-622', '21-622']
    """
    if rim.size.width is None:
        raise InputError("the rim's inner width is not known", "write for example 622x19C")
    proper = True if rim.kind is RimKind.HOOKLESS else None
    folding = False if rim.kind is RimKind.STRAIGHT else None
    edge = _edge(rim)
    lines = []
    for width in tables.tyre_widths_at(rim.size.bsd):
        tyre = Tyre(Size(rim.size.bsd, width), edge, proper, proper, folding)
        lines.append(Line(tyre.size, fit(tyre, rim, tables, use)))
    return _sorted(lines)


def rims_for(
    tyre: Tyre, tables: Tables, kind: RimKind = RimKind.CROCHET, use: str = "road"
) -> Listing:
    """Inner rim widths of one kind that may take the tyre, best grade first, then by width.

    Raises:
        InputError: the tyre's width is not known.
    """
    if tyre.size.width is None:
        raise InputError("the tyre's width is not known", "write for example 57-584")
    lines = []
    for width in tables.rim_widths_at(tyre.size.bsd):
        rim = Rim(Size(tyre.size.bsd, width), kind)
        lines.append(Line(rim.size, fit(tyre, rim, tables, use)))
    return _sorted(lines)


def _edge(rim: Rim) -> Edge:
    return {RimKind.BEADED: Edge.BEADED, RimKind.TUBULAR: Edge.TUBULAR}.get(rim.kind, Edge.WIRED)


def _sorted(lines: list[Line]) -> Listing:
    kept = [line for line in lines if line.fit.grade in USABLE]
    kept.sort(key=lambda line: (GRADES.index(line.fit.grade), line.size.width))
    return Listing(tuple(kept), tuple(line.size.width or 0.0 for line in lines), _holes(lines))


def _holes(lines: list[Line]) -> tuple[tuple[float, float, float, float], ...]:
    """Runs of 'no table' between allowed widths; `lines` ascend by width."""
    holes = []
    run: list[float] = []
    below: float | None = None
    for line in lines:
        width = line.size.width or 0.0
        if line.fit.grade is Grade.UNLISTED:
            run.append(width)
            continue
        allowed = line.fit.grade in ALLOWED
        if run and below is not None and allowed:
            holes.append((run[0], run[-1], below, width))
        run, below = [], width if allowed else None
    return tuple(holes)


def runs(values: Iterable[float], among: Iterable[float]) -> str:
    """Values as runs of neighbours, at most 5 mm apart, among all that there are.

    >>> runs([25, 26, 28, 40], [25, 26, 27, 28, 40, 42])
    '25 to 26, 28, 40'
    """
    order = sorted(set(among))
    chosen = set(values)
    groups: list[list[float]] = []
    previous = None
    for value in order:
        if value in chosen:
            if previous is not None and value - previous <= NEAR:
                groups[-1].append(value)
            else:
                groups.append([value])
        previous = value if value in chosen else None
    return ", ".join(
        f"{one[0]:g}" if len(one) == 1 else f"{one[0]:g} to {one[-1]:g}" for one in groups
    )
