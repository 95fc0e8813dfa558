"""What a sweep tells while it lasts: the reading so far, lines to draw, hints, when to stop."""

from __future__ import annotations

from dataclasses import dataclass, field

from reader.records import Floats, Reading


@dataclass(frozen=True)
class Hint:
    """What would help now: a name for programs, a sentence for people.

    Names: closer, slower, light, glare, dark, right, left, end, found.
    """

    name: str
    text: str


@dataclass(frozen=True, eq=False)
class SeenLine:
    """A line of lettering in the newest frame, for drawing.

    `outline` is a closed polygon, N x 2 (x, y), in pixels of that frame; `text` what was voted so
    far; `size` whether it names a size.
    """

    outline: Floats
    text: str
    size: bool


@dataclass(frozen=True, eq=False)
class SweepState:
    """What is known after some frames.

    `reading` is the answer so far, None before anything was read; `done` says that diameter and
    width are sure, so that no more frames are needed; `used` whether the newest frame was read.
    """

    frames: int = 0
    looks: int = 0
    reading: Reading | None = None
    lines: tuple[SeenLine, ...] = ()
    hints: tuple[Hint, ...] = field(default=())
    used: bool = False
    done: bool = False
