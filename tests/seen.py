"""A line of text in a photo, as an engine would hand it on; shared by the tests of all stages.

Worker processes import it by name, so conftest puts this folder on the path.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reader.records import Hypothesis, Marking, Photo, Region, Strip

BLANK = np.zeros((2, 2), np.uint8)


def line(
    text: str,
    *,
    photo: str | Photo = "side.jpg",
    x: float = 0.0,
    y: float = 0.0,
    length: float = 0.0,
    height: float = 30.0,
    pixels=BLANK,
    engine: str = "scene",
    score: float = 0.97,
    log_probs=None,
    alphabet: str = "",
) -> Hypothesis:
    """Text on a straight line from (x, y), `length` pixels long, else 20 a letter."""
    along = length or 20 * max(len(text), 1)
    strip = Strip(band(((x, y), (x + along, y)), height, photo), pixels)
    return Hypothesis(engine, text, score, strip, log_probs, alphabet)


def band(
    points: Sequence[Sequence[float]], height: float, photo: str | Photo = "side.jpg"
) -> Region:
    """A region around a middle line, in a photo or in a black one of that name."""
    if isinstance(photo, str):
        photo = Photo(photo, np.zeros((100, 200, 3), np.uint8))
    return Region(photo, np.array(points, np.float32), height, 0.8, "lines")


def marking(seen: Hypothesis, notation: str, numbers=None, cost: float = 0.0, text="") -> Marking:
    """A marking that fills the line; `text` is what it should read, if not what was read."""
    text = text or seen.text
    return Marking(notation, text, numbers or {}, (0, len(text)), cost, seen)
