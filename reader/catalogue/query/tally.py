"""Counting sizes when some readings are unsure: each part counts as shares of its candidates."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from reader.catalogue.columns import SETTLED
from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError
from reader.records import Size

By = Literal["bsd", "size", "width", "kind", "month", "year", "bin", "depot"]
BYS: tuple[By, ...] = get_args(By)
CANDIDATES = schema.candidates
INTERVAL = 0.95
EXACT_UP_TO = 400  # uncertain pieces in one line; above, the normal curve is as good
CLASS_MM = 10  # width classes: 20 to 29 mm, 30 to 39 mm, …
NOT_READ = "not read"
FEWEST = 0.5  # expected pieces; sizes with less are summed up in one line
JUDGED = {"bsd": "bsd_verdict", "width": "width_verdict"}  # what else the whole size's word is for
OF_EVERY_PART = ("month", "year", "bin", "depot")  # no reading is needed to tell them


@dataclass(frozen=True)
class Line:
    """How many pieces of one sort there are."""

    name: str
    expected: float  # pieces, by probability
    low: int  # with `high`: 95 of 100 such intervals hold the true number, if readings are right
    high: int  # about how sure they are
    certain: int  # pieces of which this was read sure, or settled by a person
    settled: int  # pieces that a person settled
    possible: int  # pieces that can be of this sort at all


@dataclass(frozen=True)
class Among:
    """Which parts are counted; '' for all."""

    kind: str = ""  # tyre, rim, tube or unknown
    bin: str = ""
    depot: str = ""


def tally(
    catalogue: Catalogue, by: By = "bsd", kind: str = "", bin: str = "", depot: str = ""
) -> list[Line]:
    """Count pieces by diameter or another sort, most common first.

    Each part counts for each of its candidates by that one's probability. The interval is that of
    the sum of independent yes-or-no counts (Poisson binomial distribution: Wang 1993, Statistica
    Sinica 3, 295-312); pieces of one part count as one, as they are alike. What no reading could
    tell stands under 'not read'; parts that are no bicycle's are not counted.

    Args:
        catalogue: which.
        by: bsd (bead seat diameter), size, width (classes of 10 mm), kind, month, year (of
            arrival), bin or depot.
        kind: only tyre, rim, tube or unknown; '' for all.
        bin: only there; '' for all.
        depot: only there; '' for all.

    Raises:
        InputError: there is no such sort to count by.
    """
    groups = _groups(catalogue, by, None, Among(kind, bin, depot))
    return _in_order(_line(_name(by, sort), cells) for (_, sort), cells in groups.items())


def beside(
    catalogue: Catalogue, by: By, across: By, among: Among | None = None
) -> dict[str, list[Line]]:
    """The same count for each depot, bin, month or year: its name -> its lines.

    Raises:
        InputError: there is no such sort, or parts do not stand beside each other by it.
    """
    if across not in OF_EVERY_PART:
        remedy = f"use one of: {', '.join(OF_EVERY_PART)}"
        raise InputError(f"can't stand beside each other by {across!r}", remedy)
    groups = _groups(catalogue, by, across, among or Among())
    found: dict[str, list[Line]] = {}
    for (name, sort), cells in sorted(groups.items(), key=lambda one: one[0][0]):
        found.setdefault(name, []).append(_line(_name(by, sort), cells))
    return {name: _in_order(lines) for name, lines in found.items()}


def _in_order(lines: Iterable[Line]) -> list[Line]:
    return sorted(lines, key=lambda line: (line.name == NOT_READ, -line.expected, line.name))


def summed_up(lines: Sequence[Line], most: int = 10_000) -> list[Line]:
    """The lines with what is less than half a piece, or beyond `most` lines, as one at the end."""
    unread = [line for line in lines if line.name == NOT_READ]
    read = [line for line in lines if line.name != NOT_READ]
    shown = [line for line in read if line.expected >= FEWEST][: max(1, most - len(unread) - 1)]
    rest = read[len(shown) :]
    if not rest:
        return list(lines)
    expected = round(sum(line.expected for line in rest), 1)
    certain, settled = (
        sum(getattr(line, name) for line in rest) for name in ("certain", "settled")
    )
    # Intervals of different sizes don't add up, so the sum has none.
    about = round(expected)
    total = Line(f"rest, {len(rest)} sorts", expected, about, about, certain, settled, 0)
    return [*shown, total, *unread]


Cell = tuple[float, int, int, bool, bool]  # belief, pieces a part, parts; settled, read sure
Sort = tuple[Any, ...]


def _groups(
    catalogue: Catalogue, by: By, across: By | None, among: Among
) -> dict[tuple[str, Sort], list[Cell]]:
    """Parts alike counted by the database, for each name across and each sort."""
    for one in filter(None, (by, across)):
        if one not in BYS:
            raise InputError(f"can't count by {one!r}", f"use one of: {', '.join(BYS)}")
    p = PARTS.c
    clauses = [p.quantity > 0, p.state != "foreign"]
    for name in ("kind", "bin", "depot"):
        if getattr(among, name):
            clauses.append(p[name] == getattr(among, name))
    column = _sort(across)[0] if across else sa.literal("")
    groups: dict[tuple[str, Sort], list[Cell]] = {}
    with catalogue.read() as connection:
        for query in _queries(by):
            inner = query.add_columns(
                column.label("across"),
                p.state.in_(SETTLED).label("settled"),
                (p[JUDGED.get(by, "verdict")] == "sure").label("sure"),
            )
            inner = inner.where(*clauses).subquery()
            keys = [column for column in inner.c if column.name != "code"]
            outer = sa.select(*keys, sa.func.count().label("parts")).group_by(*keys)
            outer = outer.where(inner.c.probability > 1e-6)
            for *sort, pieces, chance, name, settled, sure, parts in connection.execute(outer):
                cell = (chance, pieces, parts, bool(settled), bool(sure))
                groups.setdefault((str(name), tuple(sort)), []).append(cell)
    return groups


def _queries(by: By) -> list[Any]:
    if by in OF_EVERY_PART:
        return [sa.select(*_sort(by), PARTS.c.quantity, sa.literal(1.0).label("probability"))]
    return [_known(by), _unknown(by)]


def _known(by: By) -> sa.Select[Any]:
    """Each part with each sort that it may be of."""
    p, c = PARTS.c, CANDIDATES.c
    sort = _sort(by)
    if by == "size":  # a part's candidates differ in size
        query = sa.select(*sort, p.quantity, c.probability.label("probability"))
        return query.join_from(CANDIDATES, PARTS, c.part == p.code)
    # Two candidates that differ in width only are one in a count by diameter.
    query = sa.select(*sort, p.code, p.quantity, sa.func.sum(c.probability).label("probability"))
    query = query.join_from(CANDIDATES, PARTS, c.part == p.code)
    return query.group_by(*sort, p.code, p.quantity)


def _unknown(by: By) -> Any:
    """Each part with the belief that no candidate has."""
    p, c = PARTS.c, CANDIDATES.c
    sums = sa.select(c.part, sa.func.sum(c.probability).label("told")).group_by(c.part).subquery()
    rest = 1 - sa.func.coalesce(sums.c.told, 0.0)
    nothing = [sa.null().label(column.name) for column in _sort(by)]
    query = sa.select(*nothing, p.quantity, rest.label("probability"))
    return query.join_from(PARTS, sums, sums.c.part == p.code, isouter=True)


def _sort(by: By) -> list[sa.ColumnElement[Any]]:
    p, c = PARTS.c, CANDIDATES.c
    sorts: dict[str, list[sa.ColumnElement[Any]]] = {
        "size": [c.bsd.label("bsd"), c.width.label("width"), c.kind.label("kind")],
        "bsd": [c.bsd.label("name")],
        "width": [sa.cast(sa.func.floor(c.width / CLASS_MM), sa.Integer).label("name")],
        "kind": [c.kind.label("name")],
        "month": [sa.func.substr(p.arrived, 1, 7).label("name")],
        "year": [sa.func.substr(p.arrived, 1, 4).label("name")],
        "bin": [p.bin.label("name")],
        "depot": [p.depot.label("name")],
    }
    return sorts[by]


def _name(by: By, sort: tuple[Any, ...]) -> str:
    first = sort[0]
    if first is None:
        return NOT_READ
    if by == "size":
        _, width, kind = sort
        # 25-622 may be a tyre, or the inner width of a rim.
        return str(Size(first, width)) + ("" if kind == "unknown" else f" {kind}")
    if by == "bsd":
        return f"{first} mm"
    if by == "width":
        low = int(first) * CLASS_MM
        return f"{low} to {low + CLASS_MM - 1} mm"
    return str(first)


def _line(name: str, cells: list[Cell]) -> Line:
    """Count one sort."""
    whole = 1 - 1e-6
    known = sum(q * n for p, q, n, *_ in cells if p >= whole)
    unsure = [(p, q, n) for p, q, n, *_ in cells if p < whole]
    expected = known + sum(p * q * n for p, q, n in unsure)
    possible = known + sum(q * n for _, q, n in unsure)
    low, high = interval(unsure)
    certain = sum(q * n for p, q, n, said, sure in cells if p >= whole or (sure and p > 0.5))
    settled = sum(q * n for p, q, n, said, _ in cells if said and p >= whole)
    if name == NOT_READ:  # what is certain there is only that nothing was read
        certain = settled = 0
    return Line(name, round(expected, 4), known + low, known + high, certain, settled, possible)


def interval(cells: Sequence[tuple[float, int, int]], cover: float = INTERVAL) -> tuple[int, int]:
    """Between which counts the truth lies with this probability, equal tails.

    >>> interval([(0.5, 1, 2)])
    (0, 2)
    """
    most = sum(q * n for _, q, n in cells)
    if most == 0:
        return 0, 0
    if most <= EXACT_UP_TO:
        below = np.cumsum(distribution(cells))
        tail = (1 - cover) / 2
        low = int(np.searchsorted(below, tail, side="right"))
        return low, int(np.searchsorted(below, 1 - tail, side="left"))
    mean = sum(p * q * n for p, q, n in cells)
    spread = 1.959964 * sum(p * (1 - p) * q * q * n for p, q, n in cells) ** 0.5
    return max(0, int(np.floor(mean - spread))), min(most, int(np.ceil(mean + spread)))


def distribution(cells: Sequence[tuple[float, int, int]]) -> NDArray[np.float64]:
    """Probability of each count 0, 1, 2, …: the Poisson binomial, by convolution."""
    chances = np.ones(1)
    for probability, quantity, number in cells:
        one = np.zeros(quantity + 1)
        one[0], one[-1] = 1 - probability, probability
        for _ in range(number):
            chances = np.convolve(chances, one)
    return chances
