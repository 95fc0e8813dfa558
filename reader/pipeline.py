"""From photos to the answer: the stages in order, on one page."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from reader.cascade import Progress, read_photo
from reader.ocr import ENGINES
from reader.records import PartKind, Photo, Reading
from reader.work import Work


@dataclass(frozen=True)
class Settings:
    """What a user may choose.

    `engines` names entries of `reader.ocr.ENGINES`; `market` names a column of the prior table.
    Without a limit to the `patience` a photo gives the same reading on any machine, however busy.
    """

    engines: tuple[str, ...] = tuple(kind.name for kind in ENGINES)
    market: str = "world"
    stages: Path | None = None  # folder for a picture of every stage
    patience: float = math.inf  # processor seconds that a photo may take


def assure_settings(settings: Settings) -> None:
    """Find out before the first photo what would stop reading at any photo.

    Raises:
        EngineError: an engine name is unknown, a model or table is missing or damaged, or none of
            the engines asked for works.
        InputError: the market is unknown, or a table makes no sense.
    """
    from reader.ocr.stamp import assure_ready
    from reader.tables import load_tables

    load_tables().assure_market(settings.market)
    assure_ready(settings.engines)


def read(
    photos: Sequence[Photo], settings: Settings | None = None, progress: Progress | None = None
) -> Reading:
    """Read all photos of ONE part together.

    Args:
        photos: pictures of the same part, upright, RGB.
        settings: engines, market, folder for pictures of the stages.
        progress: called with the name of each step and the share done.

    Raises:
        EngineError: an engine name is unknown, a model or table of ours is missing or damaged, or
            none of the engines asked for works.
        InputError: the market is unknown.
    """
    from reader.ocr.stamp import assure_own
    from reader.resolve.resolve import resolve
    from reader.tables import load_tables

    settings = settings or Settings()
    tell = progress or (lambda step, share: None)
    began = time.perf_counter()
    work = Work(settings.engines, settings.market)
    assure_own(settings.engines)  # what is misspelt or damaged is told before any work
    load_tables().assure_market(settings.market)
    for number, photo in enumerate(photos):
        read_photo(photo, work, _share_of(tell, number, len(photos)), settings.patience)
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


def _write_stages(folder: Path, photos: Sequence[Photo], work: Work, reading: Reading) -> None:
    """Pictures of every stage, photo by photo."""
    from reader.detect.debug import StageWriter

    writer = StageWriter(folder)
    for photo in photos:
        writer.photo(photo)
        writer.regions(photo, [r for r in work.regions if r.photo is photo])
        seen = [h for h in work.hypotheses if h.strip and h.strip.region.photo is photo]
        seen.sort(key=lambda h: h.score * bool(h.text), reverse=True)
        strips = [h.strip for h in seen[:60] if h.strip]
        writer.strips(photo, strips, [f"{h.engine}: {h.text}" for h in seen[:60]])
        if strips:
            writer.variants(strips[0])
        writer.answer(photo, reading)
