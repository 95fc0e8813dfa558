"""Photos and clips of ONE part to their answer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from reader import pipeline
from reader.cascade import Progress
from reader.errors import PhotoError
from reader.language import N_
from reader.pipeline import Settings
from reader.records import PartKind, Photo, Reading
from reader.sweep.clip import BURST, Clip, Frame

if TYPE_CHECKING:
    from reader.sweep.sweep import Sweep

Source = Photo | Clip
PAUSE = 10.0  # seconds put between two clips
STEP = 0.5  # seconds put between two photos


def read_sources(
    sources: Sequence[Source], settings: Settings | None = None, progress: Progress | None = None
) -> Reading:
    """Read photos and clips of ONE part: a few photos as photos, a clip or a burst as a sweep.

    A clip that can't be decoded has its `error` set; the others are read.

    Raises:
        PhotoError: nothing could be decoded.
        EngineError: no engine works.
        InputError: the market is unknown.
    """
    photos = [source for source in sources if isinstance(source, Photo)]
    clips = [source for source in sources if isinstance(source, Clip)]
    if not clips and len(photos) < BURST:
        return pipeline.read(photos, settings, progress)
    return _swept(sources, settings, progress).reading


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
        PhotoError, EngineError, InputError: as for `read_sources`.
    """
    clips = [Clip(source, name, part) for source, name in zip(sources, names, strict=True)]
    return read_sources(clips, settings, progress)


@dataclass(eq=False)
class Swept:
    """A sweep that has ended."""

    sweep: Sweep
    reading: Reading
    picture: Photo | None = field(default=None)


def _swept(
    sources: Sequence[Source], settings: Settings | None, progress: Progress | None
) -> Swept:
    from reader.sweep.sweep import Sweep  # photos alone start sooner without it

    tell = progress or (lambda step, share: None)
    part: PartKind = next((one.part for one in sources if one.part != "unknown"), "unknown")
    sweep = Sweep(settings, part, sources[0].name)
    for number, frame in enumerate(_in_turn(sources)):
        tell(N_("looking along the sweep"), min(0.9, 0.03 * (number + 1)))
        if sweep.add(frame.pixels, frame.seconds).done:
            break
    errors = [one.error for one in sources if isinstance(one, Clip) and one.error is not None]
    if errors and not sweep.state.frames:
        raise errors[0]
    tell(N_("putting the looks together"), 0.92)
    reading = sweep.finish()
    notes = [note for one in sources if isinstance(one, Clip) for note in one.notes]
    reading = replace(
        reading,
        photos=tuple(one.name for one in sources),
        advice=(*reading.advice, *notes),
    )
    if settings is not None and settings.stages is not None:
        from reader.sweep.stages import write_stages

        write_stages(sweep, reading, settings.stages)
    tell("done", 1.0)
    return Swept(sweep, reading)


def _in_turn(sources: Sequence[Source]) -> Iterable[Frame]:
    """All frames one after the other; a clip that can't be decoded gives none and says why."""
    begin = 0.0
    for source in sources:
        if isinstance(source, Photo):
            yield Frame(source.pixels, begin)
            begin += STEP
            continue
        last = 0.0
        try:
            for frame in source:
                last = frame.seconds
                yield replace(frame, seconds=begin + last)
        except PhotoError as error:
            source.error = error
        begin += last + PAUSE
