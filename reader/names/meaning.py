"""One thing that a text can mean."""

from __future__ import annotations

from dataclasses import dataclass

from reader.records import PartKind, Size


@dataclass(frozen=True)
class Meaning:
    """One size that a text can mean; shares of all meanings of one text sum to 1."""

    size: Size
    part: PartKind
    share: float
    why: str
    source: str  # key of sources.csv
    from_memory: bool
    edge: str = ""  # letters of a rim's edge: C, SS, TC, TSS, HB
