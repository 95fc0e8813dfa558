"""Counting sizes when some readings are unsure: each part counts as shares of its candidates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError
from reader.records import Size

By = Literal["size", "bsd", "width", "kind", "month", "year", "bin"]
BYS: tuple[By, ...] = get_args(By)
CANDIDATES = schema.candidates
INTERVAL = 0.95
EXACT_UP_TO = 400  # uncertain pieces in one line; above, the normal curve is as good
CLASS_MM = 10  # width classes: 20 to 29 mm, 30 to 39 mm, …
NOT_READ = "not read"
OF_EVERY_PART = ("month", "year", "bin")  # no reading is needed to tell them


@dataclass(frozen=True)
class Line:
    """How many pieces of one sort there are."""

    name: str
    expected: float  # pieces, by probability
    low: int  # with `high`: 95 of 100 such intervals hold the true number, if readings are right
    high: int  # about how sure they are
    certain: int  # pieces that a person settled or the reading gives all its belief
    possible: int  # pieces that can be of this sort at all


def tally(catalogue: Catalogue, by: By = "size", kind: str = "", bin: str = "") -> list[Line]:
    """Count pieces by size or another sort, most common first.

    Each part counts for each of its candidates by that one's probability. The interval is that of
    the sum of independent yes-or-no counts (Poisson binomial distribution: Wang 1993, Statistica
    Sinica 3, 295-312); pieces of one part count as one, as they are alike. What no reading could
    tell stands under 'not read'.

    Args:
        catalogue: which.
        by: size, bsd, width (classes of 10 mm), kind, month, year (of arrival) or bin.
        kind: only tyre, rim, tube or unknown; '' for all.
        bin: only there; '' for all.

    Raises:
        InputError: there is no such sort to count by.
    """
    if by not in BYS:
        raise InputError(f"can't count by {by!r}", f"use one of: {', '.join(BYS)}")
    groups: dict[tuple[Any, ...], list[tuple[float, int, int]]] = {}
    for *sort, quantity, probability, parts in _rows(catalogue, by, kind, bin):
        groups.setdefault(tuple(sort), []).append((probability, quantity, parts))
    lines = [_line(_name(by, sort), cells) for sort, cells in groups.items()]
    return sorted(lines, key=lambda line: (line.name == NOT_READ, -line.expected, line.name))


def _rows(catalogue: Catalogue, by: By, kind: str, bin: str) -> list[Any]:
    """Parts alike counted by the database: columns of the sort, pieces a part, belief, parts."""
    p = PARTS.c
    clauses = [p.quantity > 0]
    if kind:
        clauses.append(p.kind == kind)
    if bin:
        clauses.append(p.bin == bin)
    queries = [_known(by), _unknown(by)]
    if by in OF_EVERY_PART:
        queries = [sa.select(*_sort(by), p.quantity, sa.literal(1.0).label("probability"))]
    found: list[Any] = []
    with catalogue.read() as connection:
        for query in queries:
            inner = query.where(*clauses).subquery()
            keys = [column for column in inner.c if column.name != "code"]
            outer = sa.select(*keys, sa.func.count().label("parts")).group_by(*keys)
            found += connection.execute(outer.where(inner.c.probability > 1e-6)).all()
    return found


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


def _line(name: str, cells: list[tuple[float, int, int]]) -> Line:
    """Count one sort; each cell is (probability, pieces a part, number of such parts)."""
    sure = sum(q * n for p, q, n in cells if p >= 1 - 1e-6)
    unsure = [(p, q, n) for p, q, n in cells if p < 1 - 1e-6]
    expected = sure + sum(p * q * n for p, q, n in unsure)
    possible = sure + sum(q * n for _, q, n in unsure)
    low, high = interval(unsure)
    return Line(name, round(expected, 4), sure + low, sure + high, sure, possible)


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
