"""One thing that a text can mean, and on what the belief in it rests."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from reader.records import PartKind, Size


class Standing(StrEnum):
    """What a meaning rests on, best first."""

    MEASURED = "measured"  # millimetres stand in the text
    AGREED = "agreed"  # two independent tables or more
    SINGLE = "one table"
    UNVERIFIED = "unverified"  # a list whose own source is not known
    MEMORY = "from memory"


@dataclass(frozen=True)
class Meaning:
    """One size that a text can mean.

    Shares of all meanings of one text sum to 1 less the doubt in the tables.
    """

    size: Size
    part: PartKind
    share: float
    why: str
    source: str  # keys of sources.csv, parted by ', '
    standing: Standing = Standing.MEASURED
    edge: str = ""  # letters of a rim's edge: C, SS, TC, TSS, HB
    tables: int = 0  # how many independent tables say so

    @property
    def from_memory(self) -> bool:
        """Whether no published table says so; nothing that rests on it alone is sure."""
        return self.standing in (Standing.MEMORY, Standing.UNVERIFIED)
