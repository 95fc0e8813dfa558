"""One photo on its way through the steps of the cascade, and when its size is settled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from reader.ocr import ENGINES
from reader.ranking import promising
from reader.records import Hypothesis, Photo, Region, Strip, Verdict
from reader.resolve.facts import other_part
from reader.work import Work

if TYPE_CHECKING:
    from reader.detect.trace import Line

OURS = ENGINES[0].name
"""The recogniser that reads every line."""
CUTS = (0.82, 1.22)  # of a line's height: where letters' tops were clipped, or others let in
MORE_CUTS = (0.68, *CUTS, 1.45)  # where nothing else helped: the finder may be that far off
CHECKED = 2  # lines that hold the answer, read once more in other cuts before it ends the search


@dataclass
class View:
    """One photo on its way through the steps."""

    photo: Photo
    work: Work
    looks: Iterator[list[Line]]  # what the finder tells, a list for each size of the photo
    strips: list[Strip] = field(default_factory=list)  # each line once, the way it reads better
    seen: list[Hypothesis] = field(default_factory=list)  # what was read in each, '' if nothing
    prints: list[Strip] = field(default_factory=list)  # lines of the general text detector
    checked: bool = False  # whether what settled the size was read in other cuts

    def lay(self, regions: Iterable[Region]) -> list[Strip]:
        """Regions as straight strips."""
        return [self.work.tools.straighten(region) for region in regions]

    def best(self, most: int) -> list[Strip]:
        """The lines that look most like a size."""
        return promising(self.strips, self.seen, most)

    def settles(self) -> bool:
        """Whether the size is settled, and by more than one look.

        The lines that say so are first read in other cuts. What one look alone reads, or what a
        spoke lies across, never ends the search.
        """
        if not is_settled(self.photo, self.work):
            return False
        if not self.checked:
            self.checked = True
            self.work.read(OURS, self.lay(in_other_cuts(deciding(self.photo, self.work))))
        self.work.doubt_the_lone(self.photo)
        self.work.doubt_the_covered(self.photo)
        clear = self.work.clear(self.photo)
        doubtful = bool(clear) and all(one.doubt for one in clear if one.text == clear[0].text)
        return not doubtful and is_settled(self.photo, self.work)


def in_other_cuts(strips: Iterable[Strip], cuts: Sequence[float] = CUTS) -> list[Region]:
    """Lines in other cuts: a height that is off by a fifth clips a 6 to a 5."""
    from reader.photo.rectify import recut

    return [recut(strip.region, share) for strip in strips for share in cuts]


def is_settled(photo: Photo, work: Work) -> bool:
    """Whether a clear marking gives an answer by now, with nothing against it.

    A part that says it is no bicycle's is an answer too.
    """
    if not work.is_clear(photo):
        return other_part(work.markings) is not None
    from reader.resolve.resolve import verdict
    from reader.tables import load_tables

    told = verdict(work.markings, photo.part, load_tables(), work.market)
    return told in (Verdict.SURE, Verdict.LIKELY)


def deciding(photo: Photo, work: Work, most: int = CHECKED) -> list[Strip]:
    """The strips whose markings say a size most clearly, each once, at most so many."""
    strips: dict[int, Strip] = {}
    for marking in work.clear(photo):
        if marking.hypothesis and marking.hypothesis.strip:
            strips.setdefault(id(marking.hypothesis), marking.hypothesis.strip)
    return list(strips.values())[:most]
