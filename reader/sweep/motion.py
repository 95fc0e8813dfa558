"""How the camera moved between frames: a homography, as a sidewall or rim is nearly flat.

Corners are followed by optical flow (pyramids of Lucas and Kanade) on a small copy, first those on
the lines found; what the rest of the picture does, a wall metres behind, does not matter then.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Floats, Pixels

Matrix = NDArray[np.floating]

SIDE = 640  # pixels of the longer side of the small copy
MOST_POINTS = 300
FEWEST_POINTS = 12  # that must agree, or the frame is taken as not connected
AROUND = 5.0  # heights beside a line that still count as its surface
JUMP = 0.5  # of the picture's side: a larger move between two looks is no tracking


class Motion:
    """Maps each frame into the frame in which a segment began.

    `segment` counts up whenever the connection to the frames before was lost.
    """

    def __init__(self) -> None:
        self.segment = 0
        self._small: Pixels | None = None
        self._to_first: Matrix = np.eye(3)

    def step(self, grey: Pixels, lines: Sequence[tuple[Floats, float]] = ()) -> Matrix:
        """The homography (3 x 3) from this frame's pixels to those of its segment's first frame.

        Args:
            grey: the frame, uint8, H x W.
            lines: centre lines (N x 2, pixels of the frame before) and heights to hold on to.
        """
        scale = SIDE / max(grey.shape)
        small = np.asarray(
            cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8
        )
        before, self._small = self._small, small
        if before is None or before.shape != small.shape:
            self._begin(before is not None)
            return self._to_first
        held = [(line * scale, height * scale) for line, height in lines]
        moved = _between(before, small, held)
        if moved is None and held:
            moved = _between(before, small, [])
        if moved is None:
            self._begin(True)
            return self._to_first
        grow = np.diag([scale, scale, 1.0])
        step = np.linalg.inv(grow) @ np.linalg.inv(moved) @ grow
        self._to_first = self._to_first @ step
        self._to_first /= self._to_first[2, 2]
        return self._to_first

    def _begin(self, lost: bool) -> None:
        self.segment += int(lost)
        self._to_first = np.eye(3)


def _between(before: Pixels, after: Pixels, lines: Sequence[tuple[Floats, float]]) -> Matrix | None:
    """Homography from one small frame to the next, or None where too few points agree."""
    mask = None
    if lines:
        mask = np.zeros(before.shape, np.uint8)
        for line, height in lines:
            wide = max(3, round(2 * AROUND * height))
            cv2.polylines(mask, [np.rint(line).astype(np.int32)[:, None]], False, 255, wide)
    points = cv2.goodFeaturesToTrack(before, MOST_POINTS, 0.005, 6, mask=mask)
    if points is None or len(points) < FEWEST_POINTS:
        return None
    found, there, _ = _flow(before, after, points)
    back, again, _ = _flow(after, before, found)
    apart = np.hypot(*(back - points)[:, 0].T)
    good = (there[:, 0] > 0) & (again[:, 0] > 0) & (apart < 1.0)
    if good.sum() < FEWEST_POINTS:
        return None
    start, end = points[good, 0], found[good, 0]
    if float(np.median(np.hypot(*(end - start).T))) > JUMP * max(before.shape):
        return None
    spread = float(np.ptp(start, axis=0).min())
    if spread < 40:  # points on a thin band say little of perspective
        affine, inliers = cv2.estimateAffinePartial2D(start, end, ransacReprojThreshold=1.5)
        matrix = None if affine is None else np.vstack([affine, [0, 0, 1]])
    else:
        matrix, inliers = cv2.findHomography(start, end, cv2.RANSAC, 1.5)
    if matrix is None or int(inliers.sum()) < max(FEWEST_POINTS, 0.35 * len(start)):
        return None
    return matrix if _sane(matrix, before.shape) else None


def _flow(one: Pixels, other: Pixels, points: Any) -> tuple[Any, Any, Any]:
    """Where points went, whether they could be followed, and how well."""
    follow: Any = cv2.calcOpticalFlowPyrLK  # its stubs want the optional start as well
    followed: tuple[Any, Any, Any] = follow(one, other, points, None, winSize=(21, 21), maxLevel=4)
    return followed


def _sane(matrix: Matrix, shape: tuple[int, ...]) -> bool:
    """Whether a quarter turn, a halving or a folded picture is ruled out."""
    height, width = shape[:2]
    corners = np.array([[[0, 0], [width, 0], [width, height], [0, height]]], np.float64)
    moved = cv2.perspectiveTransform(corners, matrix)[0]
    area = cv2.contourArea(moved.astype(np.float32)) / (width * height)
    return bool(0.4 < area < 2.5 and cv2.isContourConvex(moved.astype(np.float32)))


def moved(points: Floats, matrix: Matrix) -> Floats:
    """Points (N x 2) through a homography."""
    return np.asarray(
        cv2.perspectiveTransform(points[None].astype(np.float64), matrix)[0], np.float32
    )


def scale_at(points: Floats, matrix: Matrix) -> float:
    """By how much a homography enlarges lengths around the middle of some points."""
    middle = points.mean(0)
    cross = middle + np.array([[0, 0], [1, 0], [0, 1]], np.float32)
    a, b, c = moved(cross, matrix).astype(np.float64)
    area = (b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]
    return float(np.sqrt(max(abs(area), 1e-9)))
