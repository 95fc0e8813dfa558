"""Clips in the reading process: frames to one answer, and the frame that shows it best."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from reader.pipeline import Settings
from reader.records import PartKind, Photo, Pixels, Reading, Verdict
from reader.resolve.resolve import resolve
from reader.sweep import Clip, is_clip
from reader.sweep.records import SweepState
from reader.sweep.remember import recall, remember
from reader.sweep.sweep import Sweep
from reader.sweep.trust import held
from reader.tables import load_tables
from reader.web.worker import Progress, Source

__all__ = ["Best", "is_clip", "joined", "keep_looks", "kept_looks", "read_clip", "recalled"]

SURE, OPEN = ".sure", ".open"  # what a sweep has read, beside its picture: was it sure by itself?


class Best:
    """Keeps the frame in which most lines of a size stand, for people to look at."""

    def __init__(self) -> None:
        self.pixels: Pixels | None = None
        self._rank = (-1, -1)

    def see(self, pixels: Pixels, state: SweepState) -> None:
        """Look at one more frame."""
        rank = (sum(line.size for line in state.lines), len(state.lines))
        if state.used and rank > self._rank or self.pixels is None:
            self.pixels, self._rank = pixels, rank


def read_clip(
    source: Source, name: str, part: PartKind, market: str, progress: Progress
) -> tuple[Reading, Photo]:
    """Read one clip until the size is sure.

    Returns:
        The answer, and its best frame as a photo of that name.

    Raises:
        PhotoError: the clip can't be decoded.
        EngineError: no engine works.
    """
    sweep, best = Sweep(Settings(market=market), part, name), Best()
    for number, frame in enumerate(Clip(Path(source.path), name)):
        progress("looking along the sweep", min(0.9, 0.03 * (number + 1)))
        state = sweep.add(frame.pixels, frame.seconds)
        best.see(frame.pixels, state)
        if state.done:
            break
    progress("putting the looks together", 0.92)
    reading = sweep.finish()
    assert best.pixels is not None  # a clip without a frame is a PhotoError
    return reading, Photo(name, best.pixels, part)


def keep_looks(reading: Reading, folder: Path, number: int) -> None:
    """Keep what a sweep has read beside its picture, for when a still is added."""
    suffix = SURE if reading.verdict is Verdict.SURE else OPEN
    (folder / f"{number}{suffix}").write_bytes(remember(reading.markings))


def kept_looks(source: Source) -> Path | None:
    """What the sweep behind a picture has read; None for a photo, or one turned or boxed since."""
    if source.turn or source.box:
        return None
    paths = (source.path.with_suffix(suffix) for suffix in (SURE, OPEN))
    return next((path for path in paths if path.is_file()), None)


def recalled(looks: Path, name: str, part: PartKind, market: str) -> Reading:
    """The reading of a sweep that ended earlier, never surer than it was.

    Raises:
        InputError: what was kept is damaged.
    """
    markings = recall(looks.read_bytes(), name, part)
    made = resolve(markings, part, load_tables(), market)
    return made if looks.suffix == SURE else held(made)


def joined(readings: list[Reading], names: tuple[str, ...], part: PartKind, market: str) -> Reading:
    """Readings of clips and of photos of ONE part as one answer.

    Sure only where one was sure by itself, or two came to the same size.
    """
    if len(readings) == 1:
        return replace(readings[0], photos=names)
    markings = [marking for reading in readings for marking in reading.markings]
    made = resolve(markings, part, load_tables(), market)
    size = made.best.size if made.best is not None else None
    witnesses = [one for one in readings if one.best is not None and one.best.size == size]
    if len(witnesses) < 2 and not any(one.verdict is Verdict.SURE for one in witnesses):
        made = held(made)
    seconds = sum(reading.seconds for reading in readings)
    return replace(made, photos=names, seconds=seconds)
