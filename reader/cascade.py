"""How one photo is read: easy means first, slower ones only while nothing has settled the size.

Every step adds what it shows to one `Work`; the first after which a clear marking gives an answer
is the last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from reader.errors import EngineError
from reader.markings import MEASURES
from reader.records import Hypothesis, Marking, Photo, Region, Strip, Verdict
from reader.selection import is_opposite, photo_of

if TYPE_CHECKING:
    from reader.detect.trace import Line

Progress = Callable[[str, float], None]  # name of the step, share done 0..1

CLEAR = 1.0  # cost up to which a size marking is clear
RIGHT_WAY = 0.9  # mean certainty of the letters from which a line is not read upside down too
HOLE = 36  # frames without a letter, four and a half capital heights, that are worth a second look
NEARLY_ALL = 0.85  # share of a line that lies on one that was read well
WORTH_A_SECOND_LOOK = 6  # strips a photo that the scene engine sees
WORTH_OTHER_LOOKS = 4  # strips a photo that are read wider, longer, in other light, by Tesseract
PRINT_SIDE = 960  # pixels of the longer side that the general text detector sees
FURTHER = 2.0  # heights by which a line is drawn out where its text may go on
FEWEST_DIGITS = 2  # of a text that is scored for sizes; the shortest size has three
CUT = 2.0  # natural-log cost of running up to the photo's edge: 40-590 may end 240-590 kPa
WRONG_WAY = 3.0  # natural-log cost of a size on a line that reads as well upside down
AS_CLEAR = 0.05  # of the mean certainty of the letters
AS_LONG = 0.7  # share of the letters
WIDTHS = ("narrowed", "widened")
LIGHTS = ("flat light", "relief, lit from above", "relief, lit from below")


@dataclass
class Work:
    """What has been found so far for one part."""

    engines: tuple[str, ...]  # names of entries of `reader.ocr.ENGINES`
    market: str
    regions: list[Region] = field(default_factory=list)
    hypotheses: list[Hypothesis] = field(default_factory=list)
    markings: list[Marking] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)  # engines that could not be used
    doubted: set[int] = field(default_factory=set)  # ids of hypotheses read the wrong way up

    def is_clear(self, photo: Photo) -> bool:
        """Whether this photo has shown a marking that settles a size."""
        return any(
            m.notation in MEASURES and m.cost <= CLEAR and photo_of(m) is photo
            for m in self.markings
        )


def climb(photo: Photo, work: Work, tell: Progress) -> None:
    """Easy means first; slower ones only while no marking has settled the size."""
    tell("finding lines of letters", 0.05)
    strips: list[Strip] = []  # each line once, the way it reads better
    first: list[Hypothesis] = []
    for lines in _lines(photo):
        tell("reading letters", 0.3)
        some, seen = _read_lines(_unread(lines, first), work)
        strips += some
        first += seen
        if seen and _settles(photo, work):
            return
    tell("joining pieces of lines", 0.5)
    pieces = _pieces(strips, first)
    strips += pieces
    first += _run("moulded", pieces, work)
    if _settles(photo, work):
        return
    tell("trying other widths", 0.55)
    promising = _promising(strips, first)
    few = promising[:WORTH_OTHER_LOOKS]
    _run("moulded", _enhanced(few, WIDTHS), work)
    if _settles(photo, work):
        return
    tell("reading letters again", 0.6)
    _run("scene", promising, work)
    if _settles(photo, work):
        return
    tell("looking past the ends of lines", 0.65)
    _run("moulded", _longer(few), work)
    if _settles(photo, work):
        return
    tell("trying other light", 0.7)
    _run("moulded", _enhanced(few, LIGHTS), work)
    if work.is_clear(photo):  # a general engine seldom settles what ours has read clearly
        return
    tell("looking for print", 0.8)
    more = _scene_regions(photo, work)
    work.regions += more
    printed = _strips(more)
    _run("moulded", printed, work)
    _run("scene", printed, work)
    tell("reading letters once more", 0.9)
    _run("tesseract", few + printed[:WORTH_OTHER_LOOKS], work)


def _settles(photo: Photo, work: Work) -> bool:
    """Whether a clear marking gives an answer by now, with nothing against it."""
    if not work.is_clear(photo):
        return False
    from reader.resolve.resolve import verdict
    from reader.tables import load_tables

    told = verdict(work.markings, photo.part, load_tables(), work.market)
    return told in (Verdict.SURE, Verdict.LIKELY)


def _doubt_the_wrong_way(work: Work) -> None:
    """Sizes cost more where their letters read as well upside down: 47-571 may be 129.24 turned."""
    sized = [
        m
        for m in work.markings
        if m.notation in MEASURES and m.cost <= CUT and id(m.hypothesis) not in work.doubted
    ]
    well = [one for one in work.hypotheses if _reads_well(one)]
    new = {id(m.hypothesis) for m in sized if any(_turned(m, other) for other in well)}
    if not new:
        return
    work.doubted |= new
    work.markings = [
        replace(m, cost=m.cost + WRONG_WAY) if id(m.hypothesis) in new else m for m in work.markings
    ]


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


def _lines(photo: Photo) -> Iterator[list[Line]]:
    """Lines that the trained finder sees, quick look first; with a box from the user, that first.

    Outside the box nothing is kept.
    """
    from reader.detect.trace import Line, search
    from reader.photo.rectify import flip, from_box

    if photo.box is None:
        yield from search(photo)
        return
    yield [Line(region, flip(region)) for region in from_box(photo, photo.box)[::2]]
    for lines in search(photo):
        yield [line for line in lines if _share_inside(line.region, photo.box) > 0.5]


def _unread(lines: Sequence[Line], seen: Sequence[Hypothesis]) -> list[Line]:
    """Lines that have not been read well before, as found at a smaller size."""
    from reader.detect.nms import covers

    well = [h.strip.region for h in seen if h.strip and _reads_well(h)]
    seen_well = [any(covers(one, line.region, NEARLY_ALL) for one in well) for line in lines]
    return [line for line, known in zip(lines, seen_well, strict=True) if not known]


def _share_inside(region: Region, box: tuple[int, int, int, int]) -> float:
    """Share of a region's points that lie in a box."""
    x, y, width, height = box
    line = region.centreline
    return float(((line >= (x, y)) & (line <= (x + width, y + height))).all(1).mean())


def _read_lines(lines: Sequence[Line], work: Work) -> tuple[list[Strip], list[Hypothesis]]:
    """Read lines with our own recogniser: the told way round, and where that says little the other.

    Returns:
        Each line the way it reads better, and what was read; no readings where the engine is off.
    """
    strips = _strips(line.region for line in lines)
    seen = _run("moulded", strips, work)
    work.regions += [line.region for line in lines]
    if not seen:
        return _strips(way for line in lines for way in line.ways), []
    poor = [
        k for k, hypothesis in enumerate(seen) if not _reads_well(hypothesis) or _hole(hypothesis)
    ]
    turned = _run("moulded", _strips(lines[k].turned for k in poor), work)
    work.regions += [lines[k].turned for k in poor]
    for k, hypothesis in zip(poor, turned, strict=False):  # none of them if the engine failed
        if _worth(hypothesis) > _worth(seen[k]) and hypothesis.strip:
            strips[k], seen[k] = hypothesis.strip, hypothesis
    return strips, seen


def _reads_well(hypothesis: Hypothesis) -> bool:
    """Whether a line was read the right way round: upside down it says nothing, or doubtfully."""
    return hypothesis.score >= RIGHT_WAY and len(hypothesis.text.strip()) >= 4


def _hole(hypothesis: Hypothesis) -> bool:
    """Whether a long stretch was read as nothing: text set the other way round looks like that."""
    import numpy as np

    if hypothesis.log_probs is None:
        return False
    letters = np.flatnonzero(hypothesis.log_probs.argmax(1))  # the blank is class 0
    ends = np.concatenate([[0], letters, [len(hypothesis.log_probs)]])
    return bool(np.diff(ends).max() > HOLE)


def _scene_regions(photo: Photo, work: Work) -> list[Region]:
    """Lines that the general text detector sees, straight ones, each as a region."""
    import numpy as np

    from reader.ocr import scene_find

    if "scene" not in work.engines:
        return []
    try:
        quads = scene_find.find(photo.pixels, PRINT_SIDE)
    except EngineError as error:
        work.notes.append(str(error))
        return []
    regions = []
    for quad in quads[:30]:
        corners = quad.corners
        ends = np.stack([(corners[0] + corners[3]) / 2, (corners[1] + corners[2]) / 2])
        height = float(np.hypot(*(corners[0] - corners[3]))) * 0.72  # the box has air around it
        if height >= 4 and np.hypot(*(ends[1] - ends[0])) >= height:
            regions.append(Region(photo, ends.astype(np.float32), height, quad.score, "scene"))
    return regions


def _strips(regions: Iterable[Region]) -> list[Strip]:
    from reader.photo.rectify import straighten

    return [straighten(region) for region in regions]


def _longer(strips: Sequence[Strip]) -> list[Strip]:
    """Lines drawn out at both ends: the finder loses faint letters there first."""
    from reader.photo.rectify import lengthen

    return _strips(lengthen(strip.region, FURTHER) for strip in strips)


def _enhanced(strips: Sequence[Strip], variants: Iterable[str]) -> list[Strip]:
    from reader.photo.enhance import enhance

    return [enhance(strip, variant) for strip in strips for variant in variants]


def _pieces(strips: Sequence[Strip], seen: Sequence[Hypothesis]) -> list[Strip]:
    """Lines put together of two that continue each other, one of them with a digit at least."""
    from reader.detect.merge import joined

    lettered = [k for k in range(len(seen)) if seen[k].text.strip()]
    order = sorted(lettered, key=lambda k: _worth(seen[k]), reverse=True)
    able = [k for k in order if _digits(seen[k]) or not _reads_well(seen[k])]
    return _strips(joined([strips[k].region for k in able[:WORTH_A_SECOND_LOOK]]))


def _promising(strips: list[Strip], seen: list[Hypothesis]) -> list[Strip]:
    """Strips that may hold a size: digits first, then whatever had letters, then large ones."""
    if not seen:
        return strips[:WORTH_A_SECOND_LOOK]
    open_ones = [k for k in range(len(strips)) if not _is_plain_word(seen[k])]
    order = sorted(open_ones, key=lambda k: _worth(seen[k]), reverse=True)
    return [strips[k] for k in order[:WORTH_A_SECOND_LOOK]]


def _is_plain_word(hypothesis: Hypothesis) -> bool:
    """A line that was read well and is no size: no other engine need see it."""
    return _reads_well(hypothesis) and _digits(hypothesis) <= FEWEST_DIGITS


def _worth(hypothesis: Hypothesis) -> tuple[int, float]:
    return min(_digits(hypothesis), 4), hypothesis.score


def _digits(hypothesis: Hypothesis) -> int:
    return sum(char.isdigit() for char in hypothesis.text)


def _run(name: str, strips: Sequence[Strip], work: Work) -> list[Hypothesis]:
    """Read strips with one engine, if asked for, and keep what it shows; a failure is a note."""
    from reader.ocr import engine

    if name not in work.engines or not strips:
        return []
    try:
        seen = engine(name).read(strips)
    except EngineError as error:
        if len(work.engines) == 1:
            raise
        work.notes.append(str(error))
        return []
    work.hypotheses += seen
    for hypothesis in seen:
        work.markings += _mind_the_edge(hypothesis, _markings(hypothesis))
    _doubt_the_wrong_way(work)
    return seen


def _mind_the_edge(hypothesis: Hypothesis, markings: list[Marking]) -> list[Marking]:
    """A number that the photo's edge may have cut short costs more."""
    from reader.resolve.rivals import at_the_edge, near_the_edge

    if hypothesis.strip is None or not near_the_edge(hypothesis.strip.region):
        return markings  # most lines, and none of their markings need be looked at
    return [replace(m, cost=m.cost + CUT, cut=True) if at_the_edge(m) else m for m in markings]


def _markings(hypothesis: Hypothesis) -> list[Marking]:
    """Sizes by letter probabilities where the engine gives them, everything else by its text."""
    from reader.markings import SCORED, automaton, find_all

    texts = find_all(hypothesis)
    if hypothesis.log_probs is None:
        return list(texts)
    if _digits(hypothesis) < FEWEST_DIGITS:
        return [m for m in texts if m.notation not in SCORED]
    scored = automaton.score(hypothesis.log_probs, hypothesis.alphabet)
    return [
        *(replace(m, hypothesis=hypothesis) for m in scored),
        *(m for m in texts if m.notation not in SCORED),
    ]
