"""From photos to the answer: the stages in order, on one page."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reader.errors import EngineError
from reader.records import Hypothesis, Marking, PartKind, Photo, Reading, Region, Strip, Verdict

if TYPE_CHECKING:
    from reader.photo.lines import Line

Progress = Callable[[str, float], None]  # name of the step, share done 0..1

CLEAR = 1.0  # a size marking at this cost or less ends the search
RIGHT_WAY = 0.9  # mean certainty of the letters from which a line is not read upside down too
NEARLY_ALL = 0.85  # share of a line that lies on one that was read well
WORTH_A_SECOND_LOOK = 16  # strips a photo that the scene engine sees
WORTH_OTHER_LIGHT = 8  # strips a photo that are read longer, in other light and by Tesseract
PRINT_SIDE = 960  # pixels of the longer side that the general text detector sees
FURTHER = 2.0  # heights by which a line is drawn out where its text may go on
FEWEST_DIGITS = 2  # of a text that is scored for sizes; the shortest size has three
VARIANTS = ("flat light", "relief, lit from above", "relief, lit from below")
WEIGHTY = frozenset(("iso_pair", "rim", "tube"))  # notations that settle a size


@dataclass(frozen=True)
class Settings:
    """What a user may choose.

    `engines` names entries of `reader.ocr.ENGINES`; `market` names a column of the prior table.
    """

    engines: tuple[str, ...] = ("moulded", "scene", "tesseract")
    market: str = "world"
    stages: Path | None = None  # folder for a picture of every stage


@dataclass
class _Work:
    """What has been found so far for one part."""

    settings: Settings
    regions: list[Region] = field(default_factory=list)
    hypotheses: list[Hypothesis] = field(default_factory=list)
    markings: list[Marking] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)  # engines that could not be used

    def is_clear(self, photo: Photo) -> bool:
        """Whether this photo has shown a marking that settles a size."""
        return any(
            m.notation in WEIGHTY and m.cost <= CLEAR and _photo_of(m) is photo
            for m in self.markings
        )


def read(
    photos: Sequence[Photo], settings: Settings | None = None, progress: Progress | None = None
) -> Reading:
    """Read all photos of ONE part together.

    Args:
        photos: pictures of the same part, upright, RGB.
        settings: engines, market, folder for pictures of the stages.
        progress: called with the name of each step and the share done.

    Raises:
        EngineError: an engine name is unknown, or none of the engines asked for works.
        InputError: the market is unknown.
    """
    from reader.ocr import engine
    from reader.size.resolve import resolve
    from reader.tables import load_tables

    settings = settings or Settings()
    tell = progress or (lambda step, share: None)
    began = time.perf_counter()
    work = _Work(settings)
    for name in settings.engines:  # a misspelt one is told before any work
        engine(name)
    for number, photo in enumerate(photos):
        _read_photo(photo, work, _share_of(tell, number, len(photos)))
    part = _part(photos)
    reading = resolve(work.markings, part, load_tables(), settings.market)
    reading = replace(
        reading,
        photos=tuple(photo.name for photo in photos),
        regions=tuple(work.regions),
        advice=(*reading.advice, *dict.fromkeys(work.notes)),
        seconds=time.perf_counter() - began,
    )
    if settings.stages is not None:
        _write_stages(settings.stages, photos, work, reading)
    tell("done", 1.0)
    return reading


def read_files(
    paths: Sequence[Path],
    part: PartKind = "unknown",
    box: tuple[int, int, int, int] | None = None,
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> Reading:
    """Load the files and read them as photos of ONE part.

    Raises:
        PhotoError: a file is not a photo that can be read.
    """
    from reader.photo.load import load

    return read([load(path, path.name, part, box) for path in paths], settings, progress)


def _share_of(tell: Progress, number: int, count: int) -> Progress:
    """Progress of one photo as progress of all."""

    def told(step: str, share: float) -> None:
        tell(step, (number + share) / count)

    return told


def _part(photos: Sequence[Photo]) -> PartKind:
    """What the user says of any of the photos; else the resolver weighs it."""
    return next((photo.part for photo in photos if photo.part != "unknown"), "unknown")


def _read_photo(photo: Photo, work: _Work, tell: Progress) -> None:
    """Easy means first; slower ones only while no marking has settled the size."""
    tell("finding lines of letters", 0.05)
    strips: list[Strip] = []  # each line once, the way it reads better
    first: list[Hypothesis] = []
    for lines in _lines(photo):
        tell("reading letters", 0.3)
        some, seen = _read_lines(_unread(lines, first), work)
        strips += some
        first += seen
        if seen and work.is_clear(photo) and _settles(photo, work):
            return
    if first and work.is_clear(photo):
        return
    tell("reading letters again", 0.6)
    promising = _promising(strips, first)
    _run("scene", promising, work)
    if work.is_clear(photo):
        return
    tell("looking past the ends of lines", 0.65)
    _run("moulded", _longer(promising[:WORTH_OTHER_LIGHT]), work)
    if work.is_clear(photo):
        return
    tell("trying other light", 0.7)
    _run("moulded", _enhanced(promising[:WORTH_OTHER_LIGHT]), work)
    if work.is_clear(photo):
        return
    tell("looking for print", 0.8)
    more = _scene_regions(photo, work)
    work.regions += more
    printed = _strips(more)
    _run("moulded", printed, work)
    _run("scene", printed, work)
    tell("reading letters once more", 0.9)
    _run("tesseract", promising[:WORTH_OTHER_LIGHT] + printed[:WORTH_OTHER_LIGHT], work)


def _settles(photo: Photo, work: _Work) -> bool:
    """Whether what has been read so far gives an answer, with nothing against it."""
    from reader.size.resolve import resolve
    from reader.tables import load_tables

    part = _part([photo])
    told = resolve(work.markings, part, load_tables(), work.settings.market)
    return told.verdict in (Verdict.SURE, Verdict.LIKELY)


def _lines(photo: Photo) -> Iterator[list[Line]]:
    """Lines that the trained finder sees, quick look first; with a box from the user, that first.

    Outside the box nothing is kept.
    """
    from reader.photo.lines import Line, search
    from reader.photo.unwrap import flip, from_box

    if photo.box is None:
        yield from search(photo)
        return
    yield [Line(region, flip(region)) for region in from_box(photo, photo.box)[::2]]
    for lines in search(photo):
        yield [line for line in lines if _share_inside(line.region, photo.box) > 0.5]


def _unread(lines: Sequence[Line], seen: Sequence[Hypothesis]) -> list[Line]:
    """Lines that have not been read well before, as found at a smaller size."""
    from reader.photo.lines import covers

    well = [h.strip.region for h in seen if h.strip and _reads_well(h)]
    return [
        line
        for line in lines
        if not any(covers(region, line.region, NEARLY_ALL) for region in well)
    ]


def _share_inside(region: Region, box: tuple[int, int, int, int]) -> float:
    """Share of a region's points that lie in a box."""
    x, y, width, height = box
    line = region.centreline
    return float(((line >= (x, y)) & (line <= (x + width, y + height))).all(1).mean())


def _read_lines(lines: Sequence[Line], work: _Work) -> tuple[list[Strip], list[Hypothesis]]:
    """Read lines with our own recogniser: the told way round, and where that says little the other.

    Returns:
        Each line the way it reads better, and what was read; no readings where the engine is off.
    """
    strips = _strips(line.region for line in lines)
    seen = _run("moulded", strips, work)
    work.regions += [line.region for line in lines]
    if not seen:
        return strips, []
    poor = [k for k, hypothesis in enumerate(seen) if not _reads_well(hypothesis)]
    turned = _run("moulded", _strips(lines[k].turned for k in poor), work)
    work.regions += [lines[k].turned for k in poor]
    for k, hypothesis in zip(poor, turned, strict=True):
        if _worth(hypothesis) > _worth(seen[k]) and hypothesis.strip:
            strips[k], seen[k] = hypothesis.strip, hypothesis
    return strips, seen


def _reads_well(hypothesis: Hypothesis) -> bool:
    """Whether a line was read the right way round: upside down it says nothing, or doubtfully."""
    return hypothesis.score >= RIGHT_WAY and len(hypothesis.text.strip()) >= 4


def _scene_regions(photo: Photo, work: _Work) -> list[Region]:
    """Lines that the general text detector sees, straight ones, each as a region."""
    import numpy as np

    from reader.ocr import scene_find

    if "scene" not in work.settings.engines:
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
    from reader.photo.unwrap import straighten

    return [straighten(region) for region in regions]


def _longer(strips: Sequence[Strip]) -> list[Strip]:
    """Lines drawn out at both ends: the finder loses faint letters there first."""
    from reader.photo.unwrap import lengthen

    return _strips(lengthen(strip.region, FURTHER) for strip in strips)


def _enhanced(strips: Sequence[Strip]) -> list[Strip]:
    from reader.photo.enhance import enhance

    return [enhance(strip, variant) for strip in strips for variant in VARIANTS]


def _promising(strips: list[Strip], seen: list[Hypothesis]) -> list[Strip]:
    """Strips that may hold a size: digits first, then whatever had letters, then large ones."""
    if not seen:
        return strips[:WORTH_A_SECOND_LOOK]
    order = sorted(range(len(strips)), key=lambda k: _worth(seen[k]), reverse=True)
    return [strips[k] for k in order[:WORTH_A_SECOND_LOOK]]


def _worth(hypothesis: Hypothesis) -> tuple[int, float]:
    digits = sum(char.isdigit() for char in hypothesis.text)
    return min(digits, 4), hypothesis.score


def _run(name: str, strips: Sequence[Strip], work: _Work) -> list[Hypothesis]:
    """Read strips with one engine, if asked for, and keep what it shows; a failure is a note."""
    from reader.ocr import engine

    if name not in work.settings.engines or not strips:
        return []
    try:
        seen = engine(name).read(strips)
    except EngineError as error:
        if len(work.settings.engines) == 1:
            raise
        work.notes.append(str(error))
        return []
    work.hypotheses += seen
    for hypothesis in seen:
        work.markings += _markings(hypothesis)
    return seen


def _markings(hypothesis: Hypothesis) -> list[Marking]:
    """Sizes by letter probabilities where the engine gives them, everything else by its text."""
    from reader.markings import SIZES, automaton, find_all

    texts = find_all(hypothesis)
    if hypothesis.log_probs is None:
        return list(texts)
    sized = {notation.__name__.rsplit(".", 1)[-1] for notation in SIZES}
    if sum(char.isdigit() for char in hypothesis.text) < FEWEST_DIGITS:
        return [m for m in texts if m.notation not in sized]
    scored = automaton.score(hypothesis.log_probs, hypothesis.alphabet)
    return [
        *(replace(m, hypothesis=hypothesis) for m in scored),
        *(m for m in texts if m.notation not in sized),
    ]


def _photo_of(marking: Marking) -> Photo | None:
    strip = marking.hypothesis.strip if marking.hypothesis else None
    return strip.region.photo if strip else None


def _write_stages(folder: Path, photos: Sequence[Photo], work: _Work, reading: Reading) -> None:
    """Pictures of every stage, photo by photo."""
    from reader.photo.ring import find_rings
    from reader.photo.stages import StageWriter

    writer = StageWriter(folder)
    for photo in photos:
        writer.photo(photo)
        writer.rings(photo, find_rings(photo))
        writer.regions(photo, [r for r in work.regions if r.photo is photo])
        seen = [h for h in work.hypotheses if h.strip and h.strip.region.photo is photo]
        seen.sort(key=lambda h: h.score * bool(h.text), reverse=True)
        strips = [h.strip for h in seen[:60] if h.strip]
        writer.strips(photo, strips, [f"{h.engine}: {h.text}" for h in seen[:60]])
        if strips:
            writer.variants(strips[0])
        writer.answer(photo, reading)
