"""What has been found so far for one part, and how an engine's reading becomes markings."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from reader.errors import EngineError
from reader.labels import across_lines
from reader.markings import MEASURES, OTHER_PARTS
from reader.ranking import FEWEST_DIGITS, digits, reads_well
from reader.records import Hypothesis, Marking, Photo, Region, Strip
from reader.selection import is_opposite, photo_of

if TYPE_CHECKING:
    from reader.detect.trace import Line
    from reader.ocr.engine import Engine
    from reader.ocr.scene_find import Quad

CLEAR = 1.0  # cost up to which a size marking is clear
BORNE_OUT = 2.5  # cost up to which a second look bears the first one out
CUT = 2.0  # natural-log cost of running up to the photo's edge: 40-590 may end 240-590 kPa
WRONG_WAY = 3.0  # natural-log cost of a size on a line that reads as well upside down
AS_CLEAR = 0.05  # of the mean certainty of the letters
AS_LONG = 0.7  # share of the letters
SAME_PLACE = 3.0  # heights between the middles of two looks at one line
Spots = tuple[Hypothesis, list[tuple[float, float]]]  # kept with it, so that no id comes twice
Numbers = tuple[tuple[str, float | str], ...]


@dataclass(frozen=True)
class Tools:
    """What looks at pixels; a recording can stand in for each (see `reader.ocr.replay`)."""

    lines: Callable[[Photo], Iterator[list[Line]]]  # by the trained finder, quick look first
    prints: Callable[[Photo], list[Quad]]  # by the general text detector
    straighten: Callable[[Region], Strip]
    enhance: Callable[[Strip, str], Strip]
    engine: Callable[[str], Engine]
    seconds: Callable[[], float]  # a clock: work done, in processor seconds


def real_tools() -> Tools:
    """The finder, the engines and the clock of this machine.

    The clock counts processor time, so that a busy machine reads slower but not worse.
    """
    from reader import ocr
    from reader.detect.trace import search
    from reader.ocr.scene_find import find
    from reader.photo.enhance import enhance
    from reader.photo.rectify import straighten

    return Tools(
        lines=search,
        prints=lambda photo: find(photo.pixels, PRINT_SIDE),
        straighten=straighten,
        enhance=enhance,
        engine=ocr.engine,
        seconds=time.process_time,
    )


PRINT_SIDE = 960  # pixels of the longer side that the general text detector sees


@dataclass
class Work:
    """What has been found so far for one part."""

    engines: tuple[str, ...]  # names of entries of `reader.ocr.ENGINES`
    market: str
    tools: Tools = field(default_factory=real_tools)
    regions: list[Region] = field(default_factory=list)
    hypotheses: list[Hypothesis] = field(default_factory=list)
    markings: list[Marking] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)  # engines that could not be used, time spent
    together: list[Marking] = field(default_factory=list)  # markings made of two lines
    spots: dict[int, Spots] = field(default_factory=dict)  # by hypothesis, what lies across
    doubted: set[int] = field(default_factory=set)  # ids of hypotheses read the wrong way up

    def is_clear(self, photo: Photo) -> bool:
        """Whether this photo has shown a marking that settles a size."""
        return any(self._clear(photo))

    def clear(self, photo: Photo) -> list[Marking]:
        """Markings of a photo that say a size clearly, the clearest first."""
        return sorted(self._clear(photo), key=lambda one: one.cost)

    def _clear(self, photo: Photo) -> Iterator[Marking]:
        for marking in self.markings:
            if (
                marking.notation in MEASURES
                and marking.cost <= CLEAR
                and photo_of(marking) is photo
            ):
                yield marking

    def read(self, engine: str, strips: Sequence[Strip]) -> list[Hypothesis]:
        """Read strips with one engine, if in use, and keep what it shows; a failure is a note.

        Raises:
            EngineError: the only engine in use failed.
        """
        if engine not in self.engines or not strips:
            return []
        try:
            seen = self.tools.engine(engine).read(strips)
        except EngineError as error:
            if len(self.engines) == 1:
                raise
            self.notes.append(str(error))
            return []
        self.hypotheses += seen
        for hypothesis in seen:
            self.markings += _dearer_at_the_edge(hypothesis, markings_of(hypothesis))
        self._put_lines_together()
        self._doubt_the_wrong_way()
        return seen

    def doubt_the_lone(self, photo: Photo) -> None:
        """Mark sizes of a photo that one look alone reads: no other cut of their line does."""
        mine = [m for m in self.markings if m.notation in MEASURES and photo_of(m) is photo]
        looks: dict[Numbers, set[int]] = {}
        for one in mine:
            if one.cost <= BORNE_OUT:
                looks.setdefault(_numbers(one), set()).add(id(one.hypothesis))
        lone = {id(m) for m in mine if len(looks.get(_numbers(m), ())) < 2}
        for k, one in enumerate(self.markings):
            if id(one) in lone and not one.doubt:
                self.markings[k] = replace(one, doubt="alone")
            elif one.doubt == "alone" and id(one) not in lone and photo_of(one) is photo:
                self.markings[k] = replace(one, doubt="")  # seen again since

    def doubt_the_covered(self, photo: Photo) -> None:
        """Mark sizes of a photo that a spoke or cable lies across: 45 behind one reads 47."""
        from reader.photo.covered import across
        from reader.resolve.rivals import extent

        here: list[tuple[Numbers, Region]] = []
        for one in self._clear(photo):
            seen = one.hypothesis
            if seen is None or seen.strip is None:
                continue
            if id(seen) not in self.spots:
                self.spots[id(seen)] = (seen, across(seen.strip))
            begin, end = extent(seen, one.span)
            if any(low < end and begin < high for low, high in self.spots[id(seen)][1]):
                here.append((_numbers(one), seen.strip.region))
        if here:
            self.markings = [_covered(one, here) for one in self.markings]

    def _put_lines_together(self) -> None:
        """Names that a label sets in two lines; made anew, as a later look may be better."""
        before = set(map(id, self.together))
        self.together = across_lines(self.hypotheses)
        self.markings = [one for one in self.markings if id(one) not in before] + self.together

    def _doubt_the_wrong_way(self) -> None:
        """Sizes cost more where their letters read as well upside down: 47-571 may be 129.24."""
        sized = [
            m
            for m in self.markings
            if m.notation in MEASURES and m.cost <= CUT and id(m.hypothesis) not in self.doubted
        ]
        well = [one for one in self.hypotheses if reads_well(one)]
        new = {id(m.hypothesis) for m in sized if any(_turned(m, other) for other in well)}
        if not new:
            return
        self.doubted |= new
        self.markings = [
            replace(m, cost=m.cost + WRONG_WAY) if id(m.hypothesis) in new else m
            for m in self.markings
        ]


def _covered(marking: Marking, places: Sequence[tuple[Numbers, Region]]) -> Marking:
    """The marking, with that doubt if one of these numbers is covered where it stands."""
    seen = marking.hypothesis
    if marking.doubt == "covered" or seen is None or seen.strip is None:
        return marking
    mine = seen.strip.region
    for numbers, region in places:
        if numbers == _numbers(marking) and region.photo is mine.photo:
            apart = region.centreline.mean(axis=0) - mine.centreline.mean(axis=0)
            if float(apart @ apart) ** 0.5 <= SAME_PLACE * max(region.height, mine.height):
                return replace(marking, doubt="covered")
    return marking


def _numbers(marking: Marking) -> Numbers:
    return tuple(sorted(marking.numbers.items()))


def _turned(marking: Marking, other: Hypothesis) -> bool:
    """Whether the other reads the marking's own letters upside down, as clearly and as many."""
    from reader.resolve.rivals import covered

    seen = marking.hypothesis
    if seen is None or seen.strip is None or other.strip is None:
        return False
    here, there = seen.strip.region, other.strip.region
    if here.photo is not there.photo or other.score < seen.score - AS_CLEAR:
        return False
    begin, end = marking.span
    fewest = AS_LONG * len(seen.text[begin:end].replace(" ", ""))
    return is_opposite(here, there) and covered(seen, marking.span, other) >= fewest


def _dearer_at_the_edge(hypothesis: Hypothesis, markings: list[Marking]) -> list[Marking]:
    """A number that the photo's edge may have cut short costs more."""
    from reader.resolve.rivals import at_the_edge, near_the_edge

    if hypothesis.strip is None or not near_the_edge(hypothesis.strip.region):
        return markings  # most lines, and none of their markings need be looked at
    return [
        # what is left of a motor car's size is no bicycle's, however much was cut off
        replace(m, cost=m.cost + CUT, cut=True)
        if m.notation not in OTHER_PARTS and at_the_edge(m)
        else m
        for m in markings
    ]


def markings_of(hypothesis: Hypothesis) -> list[Marking]:
    """Sizes by letter probabilities where the engine gives them, everything else by its text."""
    from reader.markings import SCORED, automaton, find_all

    texts = find_all(hypothesis)
    if hypothesis.log_probs is None:
        return list(texts)
    others = [m for m in texts if m.notation not in SCORED]
    if digits(hypothesis) < FEWEST_DIGITS:
        return others
    scored = automaton.score(hypothesis.log_probs, hypothesis.alphabet)
    return [*(replace(m, hypothesis=hypothesis) for m in scored), *others]
