"""A ring's sidewall cut into overlapping arcs, each a region that may hold a line of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from reader.detect.ellipse import Ellipse, Points
from reader.photo.rectify import flip
from reader.records import Floats, Photo, Region

if TYPE_CHECKING:
    from reader.detect.ring import Ring

# Shares of the radius. A line of letters on a sidewall is 5 to 8 mm high where the tyre's radius is
# 340 mm (common practice, no source), and in a close-up only a part of the tyre is seen.
TEXT_HEIGHT, CLOSE_UP_HEIGHT = 0.035, 0.06
INSIDE, OUTSIDE = 0.1, 0.06  # how far beyond the innermost and outermost edge text may lie
LENGTH, OVERLAP = 14.0, 5.0  # of an arc, in heights
DETAIL_SIDE = 1000


def bands(ring: Ring, photo: Photo, height: float | None = None) -> list[Region]:
    """Overlapping arcs at several radii, each in both reading directions.

    Args:
        ring: as `find_rings` gave it for this photo.
        photo: the photo.
        height: of the text's band as a share of the ring's radius; a usual one when missing.

    Returns:
        Regions with the most change along the line first (`score` is relative to the best); a
        region and the same turned by 180° follow each other.
    """
    if height is None:
        height = TEXT_HEIGHT if ring.seen > 0.2 else CLOSE_UP_HEIGHT
    slopes, factor = _slopes(photo)
    found: list[tuple[float, Region]] = []
    low, high = min(ring.edges) - INSIDE, max(ring.edges) + OUTSIDE
    for level in np.arange(low, high, 0.6 * height):
        outline = ring.ellipse.scaled(float(level))
        for start, stop in _arcs(outline, height, photo.shape):
            line = outline.points(np.linspace(start, stop, 40)).astype(np.float32)
            steps, half_size = _across(outline, line)
            thick = max(2.0, half_size * height)
            region = Region(photo, line, thick, finder="ring")
            small_line = line.astype(float) / factor
            amount = _changes_along(slopes, small_line, steps, thick / factor)
            found.append((amount, region))
    best = max((amount for amount, _ in found), default=0.0) or 1.0
    found.sort(key=lambda item: -item[0])
    both = []
    for amount, region in found:
        scored = Region(photo, region.centreline, region.height, amount / best, "ring")
        both += [scored, flip(scored)]
    return both


def _arcs(outline: Ellipse, height: float, shape: tuple[int, int]) -> list[tuple[float, float]]:
    """Angles (from, to) of arcs that lie in the photo; a whole ring is gone round once."""
    span = LENGTH * height
    count = int(np.ceil(2 * np.pi / (span - OVERLAP * height)))
    starts = np.linspace(0, 2 * np.pi, count, endpoint=False, dtype=np.float64)
    ends = np.stack([outline.points(starts + share * span) for share in (0, 0.5, 1)])
    rows, cols = shape
    inside = (ends >= 0).all(2) & (ends[..., 0] < cols) & (ends[..., 1] < rows)
    return [(s, s + span) for s, seen in zip(starts, inside.sum(0) >= 2, strict=True) if seen]


def _across(outline: Ellipse, line: Floats) -> tuple[Points, float]:
    """Unit vectors along the line, and the ring's mean half size square to it.

    A ring seen at an angle is thinner in places, and so is a band on it.
    """
    step = np.gradient(line.astype(float), axis=0)
    step /= np.hypot(step[:, 0], step[:, 1])[:, None]
    radius = line - np.array([outline.x, outline.y])
    return step, float(np.abs(radius[:, 0] * step[:, 1] - radius[:, 1] * step[:, 0]).mean())


def _slopes(photo: Photo) -> tuple[Points, float]:
    """Brightness slopes of a small copy, H x W x 2, and photo pixels per pixel of it."""
    factor = max(1.0, max(photo.shape) / DETAIL_SIDE)
    size = (max(1, round(photo.shape[1] / factor)), max(1, round(photo.shape[0] / factor)))
    small = cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    both = [cv2.Sobel(grey, cv2.CV_32F, *order) for order in ((1, 0), (0, 1))]
    return np.stack(both, 2).astype(float), factor


def _changes_along(slopes: Points, line: Points, steps: Points, reach: float) -> float:
    """Mean change of brightness along a band: letters have it, a rim's smooth edge has not."""
    ups = np.stack([steps[:, 1], -steps[:, 0]], 1)
    places = np.concatenate([line + ups * reach * offset for offset in (-0.3, 0, 0.3)])
    xs = np.clip(places[:, 0].astype(int), 0, slopes.shape[1] - 1)
    ys = np.clip(places[:, 1].astype(int), 0, slopes.shape[0] - 1)
    change = np.abs((slopes[ys, xs] * np.tile(steps, (3, 1))).sum(1))
    return float(np.minimum(change, 120).mean())
