"""What would help whoever holds the phone, in plain words, from what is seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reader.language import N_
from reader.records import Verdict
from reader.sweep.quality import Quality
from reader.sweep.records import Hint, SeenLine, SweepState
from reader.sweep.tracks import Track

SMALL = 14.0  # pixels of capital height below which going closer helps
BLURRED = 0.5  # of the best sharpness so far
GLARE = 0.08  # share of burnt-out pixels
BLACK = 0.6  # share of lost pixels

TEXTS = {
    "found": N_("That's it: the size is sure."),
    "closer": N_("Go closer: the letters are small."),
    "slower": N_("Slower, or hold still for a moment."),
    "light": N_("More light from the side: turn the lamp on or tilt the part."),
    "glare": N_("Too much glare here: tilt the part or move the light."),
    "dark": N_("Too dark: turn the lamp on."),
    "right": N_("Go on to the right: the marking goes on."),
    "left": N_("Go on to the left: the marking begins further left."),
    "end": N_("The marking ends here; upside down is fine."),
    "search": N_("Look for two numbers with a dash, such as 37-622; upside down is fine."),
}


def hint(name: str) -> Hint:
    """The hint of that name."""
    return Hint(name, TEXTS[name])


def hints(
    quality: Quality,
    best: float,
    lines: Sequence[SeenLine],
    state: SweepState,
    shape: tuple[int, int],
    tracks: Sequence[Track],
) -> tuple[Hint, ...]:
    """At most two hints, the most useful first.

    Args:
        quality: of the newest frame.
        best: the best sharpness so far.
        lines: what was seen in the newest frame.
        state: what is known.
        shape: height and width of the frame, pixels.
        tracks: the lines followed now.
    """
    if state.done:
        return (hint("found"),)
    out = []
    if quality.dark > BLACK:
        out.append("dark")
    elif quality.usable < BLURRED * best:
        out.append("slower")
    if quality.bright > GLARE:
        out.append("glare")
    numbers = [line for line in lines if sum(char.isdigit() for char in line.text) >= 2]
    out += [name for line in numbers for name in _goes_on(line, shape)]
    if lines and max(_height(line) for line in numbers or lines) < SMALL:
        out.append("closer")
    told = state.reading is not None and state.reading.verdict is not Verdict.NONE
    if numbers and not told and state.looks >= 4:
        out.append("light")
    if not numbers and state.looks >= 3:
        out.append("search")
    return tuple(hint(name) for name in list(dict.fromkeys(out))[:2])


def _height(line: SeenLine) -> float:
    """Height of a line's outline in pixels: between its upper and its lower side."""
    half = len(line.outline) // 2
    return float(np.hypot(*(line.outline[0] - line.outline[2 * half - 1])))


def _goes_on(line: SeenLine, shape: tuple[int, int]) -> list[str]:
    """Where a line runs out of the frame."""
    half = len(line.outline) // 2
    upper, lower = line.outline[:half], line.outline[half : 2 * half][::-1]
    middle = (upper + lower) / 2
    near = 1.2 * _height(line)
    out = []
    for end, other in ((middle[-1], middle[0]), (middle[0], middle[-1])):
        across = end[0] - other[0]
        if end[0] > shape[1] - near and across > 0:
            out.append("right")
        elif end[0] < near and across < 0:
            out.append("left")
    return out
