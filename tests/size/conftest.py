"""Engine output for the tests: a line of text in a photo, as an engine would give it."""

from __future__ import annotations

import numpy as np
import pytest

from reader.markings import find_all
from reader.records import Hypothesis, Marking, Photo, Region, Strip

BLANK = np.zeros((2, 2), np.uint8)


def _line(
    text: str,
    *,
    photo: str = "side.jpg",
    y: float = 0.0,
    x: float = 0.0,
    engine: str = "scene",
    score: float = 0.97,
    height: float = 30.0,
    log_probs=None,
    alphabet: str = "",
) -> Hypothesis:
    """A hypothesis over a straight line of 20 pixels a letter."""
    ends = [[x, y], [x + 20 * max(len(text), 1), y]]
    picture = Photo(photo, np.zeros((2, 2, 3), np.uint8))
    strip = Strip(Region(picture, np.array(ends, np.float32), height), BLANK)
    return Hypothesis(engine, text, score, strip, log_probs, alphabet)


def _found(*hypotheses: Hypothesis) -> list[Marking]:
    """All markings of all lines."""
    return [marking for one in hypotheses for marking in find_all(one)]


@pytest.fixture(scope="session")
def line():
    return _line


@pytest.fixture(scope="session")
def found():
    return _found
