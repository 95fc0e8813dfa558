"""What lies across a line of letters: a spoke, a cable, a strap, seen from its edge to edge.

Letters end within their band; what covers them goes on above and below it, straight through the
margins of the strip. So a narrow stretch of one brightness that runs from the first row to the last
is no stroke of a letter.
"""

from __future__ import annotations

import cv2
import numpy as np

from reader.records import Floats, Strip

ROWS = 48  # a strip is looked at in this height
WIDTHS = (3, 7, 13)  # of what may lie across, in those rows
LEAN = 36  # columns by which it may lean over the strip's height, either way
STEP = 6  # columns between two leans that are tried
WEAKEST = 0.2  # share of the rows that may show it less, where a letter's stroke meets it
CLEARLY = 0.75  # of the strip's own contrast that it must stand out by in all other rows
MOST = 3  # more things across are the ground's own ribs, behind the letters and not before them
MOST_OF_IT = 0.4  # share of the strip, likewise


def across(strip: Strip) -> list[tuple[float, float]]:
    """Stretches of a strip that something covers from its upper to its lower edge.

    Args:
        strip: as `straighten` gave it, margins included; one without pixels shows nothing.

    Returns:
        First and last column of each, as shares of the strip's length; none where so many lie
        across that they are the ground's pattern.
    """
    high, wide = strip.pixels.shape[:2]
    if high < ROWS // 4 or wide < 2 * ROWS:
        return []
    scale = ROWS / high
    grey = cv2.resize(strip.pixels, (round(wide * scale), ROWS), interpolation=cv2.INTER_AREA)
    plain = grey.astype(np.float32)
    contrast = max(float(plain.std()), 1.0)
    found = np.zeros(plain.shape[1], bool)
    for width in WIDTHS:
        ridge = _ridge(plain, width)
        for lean in range(-LEAN, LEAN + 1, STEP):
            leaning = _leaning(ridge, lean)
            for clear in (leaning > CLEARLY * contrast, leaning < -CLEARLY * contrast):
                enough = np.count_nonzero(clear, axis=0) >= (1 - WEAKEST) * ROWS
                for column in np.flatnonzero(enough & clear[[0, 1, -2, -1]].any(axis=0)):
                    found[_reach(int(column), width, lean, len(found))] = True
    runs = _runs(found)
    if len(runs) > MOST or found.mean() > MOST_OF_IT:
        return []
    return [(begin / len(found), end / len(found)) for begin, end in runs]


def _ridge(plain: Floats, width: int) -> Floats:
    """How much brighter each stretch so wide is than what is left and right of it."""
    inside = cv2.blur(plain, (width, 1), borderType=cv2.BORDER_REFLECT)
    left, right = (np.roll(inside, side * (width + 1), axis=1) for side in (1, -1))
    up = np.minimum(inside - left, inside - right)
    down = np.minimum(left - inside, right - inside)
    return np.asarray(np.where(up > 0, up, np.where(down > 0, -down, 0.0)), np.float32)


def _leaning(ridge: Floats, lean: int) -> Floats:
    """The rows shifted so that what leans by so many columns over the height stands upright."""
    shifts = np.round((np.arange(ROWS) / (ROWS - 1) - 0.5) * lean).astype(int)
    return np.stack([np.roll(row, -shift) for row, shift in zip(ridge, shifts, strict=True)])


def _reach(column: int, width: int, lean: int, size: int) -> slice:
    """Columns that something through this one covers within the letters' band."""
    half = width / 2 + abs(lean) / 3  # two thirds of the strip's height are the band
    return slice(max(0, round(column - half)), min(size, round(column + half) + 1))


def _runs(found: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], found.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
