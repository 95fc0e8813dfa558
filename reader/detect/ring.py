"""Tyres and rims in view: circles seen at any angle, cut by the frame or hidden in part."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reader.detect.bands import bands
from reader.detect.ellipse import Ellipse, Points
from reader.detect.votes import RADII, edge_points, peaks, proposals, refine, support
from reader.records import Photo, Pixels

__all__ = ["Ring", "bands", "find_rings"]

WORK_SIDE = 700  # longer side of the picture in which edges are looked for
TRIED, TRIED_AGAIN = 40, 8  # proposals that are refined on some edge points, and then on all
QUICK_POINTS = 7000
LEAST_SEEN = 0.06  # share of the turn that must show as an edge


@dataclass(frozen=True)
class Ring:
    """A round edge in the photo and its concentric partners.

    `edges` are sizes relative to `ellipse`, rising, 1 among them: rim edge, tread edge, …
    """

    ellipse: Ellipse  # in photo pixels
    edges: tuple[float, ...]
    seen: float  # share of the turn at which the main edge shows, 0..1
    score: float  # 0..1: how well main edge and partners are seen


def find_rings(photo: Photo, limit: int = 3) -> list[Ring]:
    """Circles and ellipses that the photo's edges point at, best first.

    Args:
        photo: any size; the search works on a copy of at most `WORK_SIDE` pixels.
        limit: how many to return at most.

    Returns:
        Rings of different places or sizes; empty when no edge is round enough.
    """
    grey, factor = _small(photo.pixels)
    points, normals = edge_points(grey)
    if len(points) < 50:
        return []
    guesses = proposals(points, normals, float(max(grey.shape)))[:TRIED]
    quick = (points[:QUICK_POINTS], normals[:QUICK_POINTS])
    rough = [_measured(refine(guess, *quick, (3, 1)), *quick, grey) for guess in guesses]
    close = _best([ring for ring in rough if ring], TRIED_AGAIN, alike=3)
    fine = [
        _measured(refine(ring.ellipse, points, normals), points, normals, grey) for ring in close
    ]
    kept = _best([ring for ring in fine if ring], limit, alike=1)
    return [
        Ring(ring.ellipse.moved_to_scale(factor), ring.edges, ring.seen, ring.score)
        for ring in kept
    ]


def _small(pixels: Pixels) -> tuple[Pixels, float]:
    """Grey copy for the search, and how many photo pixels one of its pixels stands for."""
    rows, cols = pixels.shape[:2]
    factor = max(1.0, max(rows, cols) / WORK_SIDE)
    size = (max(1, round(cols / factor)), max(1, round(rows / factor)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), np.uint8), factor


def _measured(ellipse: Ellipse, points: Points, normals: Points, grey: Pixels) -> Ring | None:
    """The ring with its edges and score, unless too little of it is seen."""
    side = max(grey.shape)
    if not 0.05 * side < ellipse.size < 4 * side:
        return None
    shares, _ = support(ellipse, points, normals)
    found = peaks(shares, max(LEAST_SEEN, 0.4 * float(shares.max())))
    if not found:
        return None
    main, seen = float(RADII[found[0]]), float(shares[found[0]])
    edges = sorted(float(RADII[peak]) / main for peak in found)
    edges = [edge for edge in edges if 0.6 < edge < 1.6]
    ellipse = ellipse.scaled(main)
    inside, bend = _in_frame(ellipse, grey.shape)
    # An edge counts by how much of what could be seen is seen, how far it bends, how large it is.
    # What all radii have alike is clutter or noise.
    shares = np.maximum(shares - float(np.median(shares)), 0)
    filled = min(1.0, float(shares[found[0]]) / max(inside, 0.02))
    partners = sum(float(shares[peak]) for peak in found[1:]) / max(inside, 0.02)
    reach = min(1.0, ellipse.size * bend / (0.35 * side))
    score = filled * np.sqrt(bend * reach) * (0.7 + 0.3 * min(1.0, partners))
    return Ring(ellipse, tuple(edges), seen, float(min(1.0, score)))


def _in_frame(ellipse: Ellipse, shape: tuple[int, ...]) -> tuple[float, float]:
    """Share of the turn inside the picture, and how far the outline bends there, as a turn's share.

    The flat side of a long ellipse hardly bends: a straight shelf must not pass for a wheel.
    """
    outline = ellipse.points(np.linspace(0, 2 * np.pi, 181))
    xs, ys = outline[:-1].T
    inside = (xs >= 0) & (ys >= 0) & (xs < shape[1]) & (ys < shape[0])
    step = np.diff(outline, axis=0)
    heading = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turning = np.diff(heading, append=heading[0] + 2 * np.pi) / (2 * np.pi)
    return float(inside.mean()), float(np.sum(turning[inside]))


def _best(rings: list[Ring], limit: int, alike: int) -> list[Ring]:
    """The best rings, not more than `alike` of them of one place and size."""
    kept: list[Ring] = []
    for ring in sorted(rings, key=lambda ring: -ring.score):
        if len(kept) < limit and sum(_alike(ring, other) for other in kept) < alike:
            kept.append(ring)
    return kept


def _alike(one: Ring, two: Ring) -> bool:
    """Whether two rings are one ring found twice, or partners of each other."""
    a, b = one.ellipse, two.ellipse
    apart = np.hypot(a.x - b.x, a.y - b.y)
    return bool(apart < 0.25 * max(a.size, b.size) and 0.5 < a.size / b.size < 2)
