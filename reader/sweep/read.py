"""A clip, a burst or both, of ONE part, to its answer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from reader.cascade import Progress
from reader.pipeline import Settings
from reader.records import PartKind, Photo, Reading
from reader.sweep.clip import Clip, Frame
from reader.sweep.sweep import Sweep

PAUSE = 10.0  # seconds between two clips of one part, as far as their order is told


def read_clips(
    sources: Sequence[Path | bytes],
    names: Sequence[str],
    part: PartKind = "unknown",
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> Reading:
    """Read clips of ONE part together; stops as soon as diameter and width are sure.

    Args:
        sources: files, or their content.
        names: how answers and errors call them.
        part: what the user says they show.
        settings: as for `pipeline.read`.
        progress: called with the name of each step and the share done.

    Raises:
        PhotoError: a clip can't be decoded at all.
        EngineError: no engine works.
        InputError: the market is unknown.
    """
    clips = [Clip(source, name) for source, name in zip(sources, names, strict=True)]
    reading = read_frames(_in_turn(clips), names[0], part, settings, progress)
    notes = [note for clip in clips for note in clip.notes]
    return replace(reading, photos=tuple(names), advice=(*reading.advice, *notes))


def read_burst(
    photos: Sequence[Photo], settings: Settings | None = None, progress: Progress | None = None
) -> Reading:
    """Read photos taken in a row of ONE part, as a sweep.

    Raises:
        EngineError, InputError: as for `read_clips`.
    """
    frames = [Frame(photo.pixels, k * 0.5) for k, photo in enumerate(photos)]
    part: PartKind = next((photo.part for photo in photos if photo.part != "unknown"), "unknown")
    reading = read_frames(frames, photos[0].name, part, settings, progress)
    return replace(reading, photos=tuple(photo.name for photo in photos))


def read_frames(
    frames: Iterable[Frame],
    name: str,
    part: PartKind = "unknown",
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> Reading:
    """Read frames of ONE part in their order, until the size is sure.

    Raises:
        EngineError, InputError: as for `read_clips`.
    """
    tell = progress or (lambda step, share: None)
    sweep = Sweep(settings, part, name)
    for number, frame in enumerate(frames):
        tell("looking along the sweep", min(0.9, 0.03 * (number + 1)))
        if sweep.add(frame.pixels, frame.seconds).done:
            break
    tell("putting the looks together", 0.92)
    reading = sweep.finish()
    tell("done", 1.0)
    return reading


def _in_turn(clips: Sequence[Clip]) -> Iterable[Frame]:
    begin = 0.0
    for clip in clips:
        last = 0.0
        for frame in clip:
            last = frame.seconds
            yield replace(frame, seconds=begin + last)
        begin += last + PAUSE
