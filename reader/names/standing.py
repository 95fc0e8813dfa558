"""How far rows of the table of names bear a meaning: independent tables counted, doubts weighed."""

from __future__ import annotations

from collections.abc import Sequence

from reader.name_rows import Name
from reader.names.meaning import Standing
from reader.tables import Tables

# Greatest share by the number of independent tables; one alone may be a misprint. Judgement.
CAPS = (0.5, 0.9, 0.97, 0.98, 0.99)
UNVERIFIED_CAP = 0.7
UNVERIFIED, MEMORY = 0.3, 0.15  # of a table, where no published one says so
UNCHECKED = ("DB", "LIST")
TIE = 0.5  # what a list that nobody could check adds to published ones: it breaks ties
AWAY, AT_HOME = 0.3, 3.0  # a local meaning, elsewhere and in its market
LOOSE, MISPRINT = 0.1, 0.02
FAMILY_BESIDE_EXACT = 0.05  # of a family of decimals, where a table gives this very text


def standing(rows: Sequence[Name], tables: Tables) -> Standing:
    """What the rows together rest on."""
    count = tables.counted(rows)
    if count:
        return Standing.AGREED if count > 1 else Standing.SINGLE
    remembered = all(key == "MEM" for row in rows for key in row.sources)
    return Standing.MEMORY if remembered else Standing.UNVERIFIED


def cap(count: int, rests_on: Standing) -> float:
    """The greatest share that a meaning may have.

    >>> cap(1, Standing.SINGLE), cap(12, Standing.AGREED), cap(0, Standing.MEMORY)
    (0.9, 0.99, 0.5)
    """
    if rests_on is Standing.UNVERIFIED:
        return UNVERIFIED_CAP
    return CAPS[min(count, len(CAPS) - 1)]


def support(rows: Sequence[Name], count: int, rests_on: Standing, market: str) -> float:
    """Weight of a meaning among the others of its text, in tables."""
    if not count:
        base = MEMORY if rests_on is Standing.MEMORY else UNVERIFIED
    else:
        base = count + TIE * any(key in UNCHECKED for row in rows for key in row.sources)
    return base * max(_trust(row, market) for row in rows)


def _trust(row: Name, market: str) -> float:
    if row.doubt == "local":
        return AT_HOME if row.home == market else AWAY
    return {"": 1.0, "loose": LOOSE, "misprint": MISPRINT}[row.doubt]
