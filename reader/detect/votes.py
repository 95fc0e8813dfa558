"""Which centre do the edges of a picture point at? Votes over centres and squeezes.

On concentric circles every edge normal points at the centre, whatever the radius. A circle seen at
an angle is nearly a squeezed one, so the votes are taken for several squeezes of the picture.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.detect.ellipse import Ellipse, Points, fit_concentric
from reader.records import Pixels

SQUEEZES = (1.0, 0.88, 0.76, 0.64, 0.52, 0.42)  # cosine of 0 to 65 degrees
TURNS = 9
PAIRS = 4000  # random pairs of edge points per squeeze; each proposes a circle
CANDIDATES = 250  # at most so many of them, with both points on one circle, are voted on
VOTERS, WITNESSES = 2000, 40_000  # edge points that choose, and that refine
ALIGNED = np.sin(np.radians(4.5))
ENOUGH = 0.35  # of the turn
SECTORS, SHORTEST_RUN = 180, 5  # an edge shorter than 10 degrees is no part of a ring
RADII = np.geomspace(0.66, 1.52, 84)  # 1 % apart, relative to the ellipse in hand


def edge_points(grey: Pixels, seed: int = 0) -> tuple[Points, Points]:
    """Edge pixels of a small picture in random order, N x 2 (x, y), and their unit normals."""
    soft = cv2.GaussianBlur(grey, (0, 0), 1.4)
    dx, dy = (cv2.Sobel(soft, cv2.CV_16S, *order) for order in ((1, 0), (0, 1)))
    strength = np.hypot(dx.astype(np.float32), dy.astype(np.float32))
    high = max(24.0, float(np.percentile(strength, 93)))
    ys, xs = np.nonzero(cv2.Canny(dx, dy, 0.45 * high, high, L2gradient=True))
    order = np.random.default_rng(seed).permutation(len(xs))[:WITNESSES]
    ys, xs = ys[order], xs[order]
    normals = np.stack([dx[ys, xs], dy[ys, xs]], 1) / np.maximum(strength[ys, xs], 1e-6)[:, None]
    return np.stack([xs, ys], 1).astype(float), normals


def proposals(points: Points, normals: Points, side: float, seed: int = 0) -> list[Ellipse]:
    """Best centres for each squeeze, as ellipses of size `side`, by falling number of votes."""
    rng = np.random.default_rng(seed)
    points, normals = points[:VOTERS], normals[:VOTERS]
    found: list[tuple[float, Ellipse]] = []
    for squeeze in SQUEEZES:
        for turn in range(TURNS if squeeze < 1 else 1):
            frame = Ellipse(0, 0, side, side * squeeze, np.pi * turn / TURNS)
            round_points, round_normals = frame.to_circle(points, normals)
            circles = _circles(round_points, round_normals, rng)
            votes = _votes(circles, round_points, round_normals)
            for best in np.argsort(-votes)[:4]:
                x, y, radius = circles[best]
                bearing = np.array([np.arctan2(y, x)])
                place = frame.points(bearing)[0] * np.hypot(x, y)
                ellipse = Ellipse(
                    float(place[0]), float(place[1]), side, side * squeeze, frame.angle
                )
                found.append((votes[best], ellipse.scaled(float(radius))))
    found.sort(key=lambda item: -item[0])
    return [ellipse for _, ellipse in found]


def _circles(points: Points, normals: Points, rng: np.random.Generator) -> Points:
    """Circles (x, y, radius) through random pairs of points, square to both normals."""
    one, two = rng.integers(0, len(points), (2, PAIRS))
    cross = normals[one, 0] * normals[two, 1] - normals[one, 1] * normals[two, 0]
    apart = np.abs(cross) > 0.15
    one, two, cross = one[apart], two[apart], cross[apart]
    gap = points[two] - points[one]
    reach = (gap[:, 0] * normals[two, 1] - gap[:, 1] * normals[two, 0]) / cross
    centres = points[one] + reach[:, None] * normals[one]
    radius = np.abs(reach)
    other = np.hypot(*(points[two] - centres).T)
    good = (np.abs(other - radius) < 0.04 * radius) & (radius > 0.05) & (radius < 3)
    return np.column_stack([centres, radius])[good][:CANDIDATES]


def _votes(circles: Points, points: Points, normals: Points) -> Points:
    """Support of each circle: sectors with an edge along it, the larger the circle the more."""
    votes = np.zeros(len(circles))
    for number, (x, y, radius) in enumerate(circles):
        gap = points - (x, y)
        away = np.hypot(gap[:, 0], gap[:, 1])
        near = np.flatnonzero(np.abs(away - radius) < 0.025 * radius)
        gap = gap[near]
        slip = np.abs(gap[:, 0] * normals[near, 1] - gap[:, 1] * normals[near, 0]) / radius
        gap = gap[slip < ALIGNED]
        sectors = np.floor(np.arctan2(gap[:, 1], gap[:, 0]) * (SECTORS / 4 / np.pi))
        # Clutter puts edges of all directions near any circle, so the share aligned counts too.
        purity = len(gap) / max(len(near), 1)
        votes[number] = len(np.unique(sectors)) * np.sqrt(radius * purity)
    return votes


def support(ellipse: Ellipse, points: Points, normals: Points) -> tuple[Points, NDArray[np.intp]]:
    """Seen share of the turn at each of `RADII` (of the ellipse), and each point's radius index.

    A point that is not aligned with the ellipse's normals has index -1.
    """
    round_points, round_normals = ellipse.to_circle(points, normals)
    away = np.hypot(round_points[:, 0], round_points[:, 1]) + 1e-9
    slip = np.abs(
        round_points[:, 0] * round_normals[:, 1] - round_points[:, 1] * round_normals[:, 0]
    )
    index = np.searchsorted(RADII, away) - 1
    index[(slip / away > ALIGNED) | (index >= len(RADII) - 1)] = -1
    sector = ((np.arctan2(round_points[:, 1], round_points[:, 0]) / (2 * np.pi)) % 1) * SECTORS
    table = np.zeros((len(RADII), SECTORS), np.float32)
    kept = index >= 0
    table[index[kept], np.minimum(sector[kept].astype(int), SECTORS - 1)] = 1
    table = np.hstack([table[:, -SHORTEST_RUN:], table, table[:, :SHORTEST_RUN]])
    near = cv2.dilate(table, np.ones((3, 3), np.uint8))  # next radius, next sector: the same edge
    runs = cv2.morphologyEx(near, cv2.MORPH_OPEN, np.ones((1, SHORTEST_RUN + 2), np.uint8))
    return np.asarray(runs[:, SHORTEST_RUN:-SHORTEST_RUN].mean(1), np.float64), index


def peaks(shares: Points, least: float, limit: int = 5) -> list[int]:
    """Radius indices of the most fully seen edges, strongest first, at least 3 % apart."""
    shares = shares.copy()
    found: list[int] = []
    while len(found) < limit:
        best = int(np.argmax(shares))
        if shares[best] < least:
            break
        found.append(best)
        shares[max(0, best - 3) : best + 4] = 0
    return found


def refine(
    ellipse: Ellipse, points: Points, normals: Points, reaches: tuple[int, ...] = (3, 2, 1, 1, 1)
) -> Ellipse:
    """Fit the shape to the edges that support it, again and again; its size is the best edge's.

    Args:
        ellipse: the first guess.
        points: edge points, N x 2.
        normals: their unit normals.
        reaches: for each round, how far from an edge's radius its points may lie, in radius steps.
    """
    for reach in reaches:
        shares, index = support(ellipse, points, normals)
        # In perspective concentric circles are not quite concentric, so one edge that shows enough
        # of itself is fitted alone; a short arc needs its partners' help.
        alone = reach == 1 and shares.max() > ENOUGH
        best = peaks(shares, max(0.03, 0.5 * float(shares.max())), 1 if alone else 5)
        owner = np.full(len(points), -1)
        for number, peak in reversed(list(enumerate(best))):  # the strongest edge has first claim
            owner[(np.abs(index - peak) <= reach) & (index >= 0)] = number
        groups = [points[owner == number] for number in range(len(best))]
        groups = [group for group in groups if len(group) >= 8]
        fitted = fit_concentric(groups) if groups else None
        if fitted is None or fitted.minor < 0.3 * fitted.major:
            return ellipse.scaled(float(RADII[int(np.argmax(shares))]))
        ellipse = fitted
    return ellipse
