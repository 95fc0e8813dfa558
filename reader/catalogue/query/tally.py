"""Counting sizes when some readings are unsure: each part counts as shares of its candidates."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.pieces import (
    BYS,
    CLASS_MM,
    EXACT_UP_TO,
    OF_EVERY_PART,
    Among,
    By,
    Pieces,
    groups,
)
from reader.errors import InputError
from reader.records import Size

__all__ = [
    "BYS", "NOT_READ", "OF_EVERY_PART", "Among", "By", "Line", "beside", "distribution",
    "interval", "summed_up", "tally",
]  # fmt: skip
INTERVAL = 0.95
NOT_READ = "not read"
FEWEST = 0.5  # expected pieces; sizes with less are summed up in one line


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
    found = groups(catalogue, by, None, Among(kind, bin, depot))
    return _in_order(_line(_name(by, sort), pieces) for (_, sort), pieces in found.items())


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
    counted = groups(catalogue, by, across, among or Among())
    found: dict[str, list[Line]] = {}
    for (name, sort), pieces in sorted(counted.items(), key=lambda one: one[0][0]):
        found.setdefault(name, []).append(_line(_name(by, sort), pieces))
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


def _line(name: str, pieces: Pieces) -> Line:
    """Count one sort."""
    if pieces.cells:
        low, high = interval(pieces.cells)
    else:
        low, high = normal(pieces.expected, pieces.variance, pieces.unsure)
    known = pieces.known
    expected = round(known + pieces.expected, 4) if pieces.unsure else known
    certain, settled = pieces.certain, pieces.settled
    if name == NOT_READ:  # what is certain there is only that nothing was read
        certain = settled = 0
    possible = known + pieces.unsure
    return Line(name, expected, known + low, known + high, certain, settled, possible)


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
    return normal(mean, sum(p * (1 - p) * q * q * n for p, q, n in cells), most)


def normal(mean: float, variance: float, most: int) -> tuple[int, int]:
    """The same by the normal curve, which is as good where pieces are many."""
    spread = 1.959964 * max(0.0, variance) ** 0.5
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
