"""A ring's sidewall cut into overlapping arcs, each a region that may hold a line of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from reader.photo.ellipse import Ellipse, Points
from reader.photo.unwrap import flip
from reader.records import Floats, Photo, Region

if TYPE_CHECKING:
    from reader.photo.ring import Ring

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
        Regions with the most fine detail first (their `score` is relative to the best); pairs of a
        region and the same turned by 180° stay together.
    """
    if height is None:
        height = TEXT_HEIGHT if ring.seen > 0.2 else CLOSE_UP_HEIGHT
    detail, factor = _detail(photo)
    found: list[tuple[float, Region]] = []
    low, high = min(ring.edges) - INSIDE, max(ring.edges) + OUTSIDE
    for level in np.arange(low, high, 0.6 * height):
        outline = ring.ellipse.scaled(float(level))
        for start, stop in _arcs(outline, height, photo.shape):
            line = outline.points(np.linspace(start, stop, 25)).astype(np.float32)
            region = Region(photo, line, _thickness(outline, line, height), finder="ring")
            found.append((_mean_along(detail, line / factor), region))
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


def _thickness(outline: Ellipse, line: Floats, height: float) -> float:
    """Pixels across the band, averaged along it: a ring seen at an angle is thinner in places."""
    step = np.gradient(line.astype(float), axis=0)
    step /= np.hypot(step[:, 0], step[:, 1])[:, None]
    radius = line - np.array([outline.x, outline.y])
    across = np.abs(radius[:, 0] * step[:, 1] - radius[:, 1] * step[:, 0])
    return max(2.0, float(across.mean()) * height)


def _detail(photo: Photo) -> tuple[Points, float]:
    """Small map of fine contrast, and how many photo pixels one of its pixels stands for."""
    factor = max(1.0, max(photo.shape) / DETAIL_SIDE)
    size = (max(1, round(photo.shape[1] / factor)), max(1, round(photo.shape[0] / factor)))
    small = cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    fine = np.abs(grey - cv2.GaussianBlur(grey, (0, 0), 2.5))
    return cv2.GaussianBlur(np.minimum(fine, 24), (0, 0), 4).astype(float), factor


def _mean_along(detail: Points, line: Floats) -> float:
    xs = np.clip(line[:, 0].astype(int), 0, detail.shape[1] - 1)
    ys = np.clip(line[:, 1].astype(int), 0, detail.shape[0] - 1)
    return float(detail[ys, xs].mean())
