"""How the camera moved between frames: a homography, as a sidewall or rim is nearly flat.

Corners are followed by optical flow (pyramids of Lucas and Kanade) on a small copy whose light was
evened out, so that a wandering reflection does not drag them along; first those around the lines
found: what the rest of the picture does, a wall metres behind, does not matter then. Each frame is
laid on the one before, and then on a key frame, so that small errors do not add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Floats, Pixels

Matrix = NDArray[np.floating]

SIDE = 800  # pixels of the longer side of the small copy
MOST_POINTS = 300
FEWEST_POINTS = 12  # that must agree, or the frame is taken as not connected
AROUND = 5.0  # heights beside a line that still count as its surface
JUMP = 0.5  # of the picture's side: a larger move between two looks is no tracking
NEAR = 1.5  # pixels of the small copy by which a point may miss its place
FINE, COARSE = 6.0, 12.0  # pixels: detail that is followed, and over which its strength is evened
BURNT = 250  # grey level from which nothing is to be followed
AGREE = 0.35  # share of the points that must agree
FLAT = 0.12  # share of a longer side: points on a thinner band say little of perspective
KEY_SHARE = 0.5  # of a key frame's points that must still be followed, or there is a new key


@dataclass(frozen=True, eq=False)
class _Key:
    """A frame that later ones are laid on: its small copy, its points, its way to the mosaic."""

    small: Pixels
    points: Floats  # N x 1 x 2
    to_first: Matrix  # of the small copy


class Motion:
    """Maps each frame into the frame in which a segment began.

    `segment` counts up whenever the connection to the frames before was lost.
    """

    def __init__(self) -> None:
        self.segment = 0
        self._small: Pixels | None = None
        self._to_first: Matrix = np.eye(3)  # of the small copy
        self._key: _Key | None = None

    def step(self, grey: Pixels, lines: Sequence[tuple[Floats, float]] = ()) -> Matrix:
        """The homography (3 x 3) from this frame's pixels to those of its segment's first frame.

        Args:
            grey: the frame, uint8, H x W.
            lines: centre lines (N x 2, pixels of the frame before) and heights to hold on to.
        """
        scale = SIDE / max(grey.shape)
        small = evened(grey, scale)
        before, self._small = self._small, small
        if before is None or before.shape != small.shape:
            self._begin(before is not None)
            return self._to_first
        held = [(line * scale, height * scale) for line, height in lines]
        step = _between(before, small, held)
        if step is None and held:
            step = _between(before, small, [])
        if step is None:
            self._begin(True)
            return self._to_first
        self._to_first = self._to_first @ np.linalg.inv(step)
        self._hold(before, small, held, step)
        self._to_first /= self._to_first[2, 2]
        grow = np.diag([scale, scale, 1.0])
        return np.asarray(np.linalg.inv(grow) @ self._to_first @ grow)

    def _begin(self, lost: bool) -> None:
        self.segment += int(lost)
        self._to_first, self._key = np.eye(3), None

    def _hold(
        self, before: Pixels, small: Pixels, held: Sequence[tuple[Floats, float]], step: Matrix
    ) -> None:
        """Lay the frame on the key frame, from where the chain has it; a new key if that fails."""
        if self._key is None:
            self._new_key(before, held, self._to_first @ step)
        key = self._key
        if key is None:
            return
        guess = np.linalg.inv(self._to_first) @ key.to_first  # from the key to this frame
        start = cv2.perspectiveTransform(key.points.astype(np.float64), guess).astype(np.float32)
        pairs = _followed(key.small, small, key.points, start)
        if pairs is not None and len(pairs[0]) >= KEY_SHARE * len(key.points):
            matrix = _fitted(*pairs, small.shape)
            if matrix is not None:
                self._to_first = key.to_first @ np.linalg.inv(matrix)
                return
        self._new_key(small, held, self._to_first)

    def _new_key(
        self, small: Pixels, held: Sequence[tuple[Floats, float]], to_first: Matrix
    ) -> None:
        points = _corners(small, held)
        self._key = None if points is None else _Key(small, points, to_first)


def evened(grey: Pixels, scale: float) -> Pixels:
    """A small copy with the same contrast everywhere, and none where the light has burnt it out."""
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    values = small.astype(np.float32)
    fine = values - cv2.GaussianBlur(values, (0, 0), FINE)
    strength = cv2.sqrt(cv2.GaussianBlur(fine * fine, (0, 0), COARSE))
    burnt = cv2.dilate((small >= BURNT).astype(np.uint8), np.ones((5, 5), np.uint8))
    out = np.clip(128 + 45 * fine / (strength + 4), 0, 255)
    return np.asarray(np.where(burnt > 0, 128, out), np.uint8)


def _corners(small: Pixels, lines: Sequence[tuple[Floats, float]]) -> Floats | None:
    mask = None
    if lines:
        mask = np.zeros(small.shape, np.uint8)
        for line, height in lines:
            wide = max(3, round(2 * AROUND * height))
            cv2.polylines(mask, [np.rint(line).astype(np.int32)[:, None]], False, 255, wide)
    points = cv2.goodFeaturesToTrack(small, MOST_POINTS, 0.01, 6, mask=mask)
    return None if points is None or len(points) < FEWEST_POINTS else np.asarray(points, np.float32)


def _between(before: Pixels, after: Pixels, lines: Sequence[tuple[Floats, float]]) -> Matrix | None:
    """Homography from one small frame to the next, or None where too few points agree."""
    points = _corners(before, lines)
    pairs = None if points is None else _followed(before, after, points)
    if pairs is None:
        return None
    start, end = pairs
    if float(np.median(np.hypot(*(end - start).T))) > JUMP * max(before.shape):
        return None
    return _fitted(start, end, before.shape)


def _followed(
    before: Pixels, after: Pixels, points: Floats, guess: Floats | None = None
) -> tuple[Floats, Floats] | None:
    """Points that could be followed there and back, and where they went; None if too few."""
    found, there = _flow(before, after, points, guess)
    back, again = _flow(after, before, found, None if guess is None else points)
    apart = np.hypot(*(back - points)[:, 0].T)
    good = (there[:, 0] > 0) & (again[:, 0] > 0) & (apart < 1.0)
    if good.sum() < FEWEST_POINTS:
        return None
    return points[good, 0], found[good, 0]


def _flow(one: Pixels, other: Pixels, points: Floats, guess: Floats | None) -> tuple[Any, Any]:
    """Where points went, from `guess` if given, and whether they could be followed."""
    follow: Any = cv2.calcOpticalFlowPyrLK  # its stubs want the optional start as well
    levels, flags = (4, 0) if guess is None else (1, cv2.OPTFLOW_USE_INITIAL_FLOW)
    start = None if guess is None else guess.copy()
    found, there, _ = follow(
        one, other, points, start, winSize=(21, 21), maxLevel=levels, flags=flags
    )
    return found, there


def _fitted(start: Floats, end: Floats, shape: tuple[int, ...]) -> Matrix | None:
    """The simplest map that lays points on points: perspective only where it explains more."""
    affine, near = cv2.estimateAffinePartial2D(start, end, ransacReprojThreshold=NEAR)
    matrix = None if affine is None else np.vstack([affine, [0, 0, 1]])
    agree = 0 if affine is None else int(near.sum())
    if float(np.ptp(start, axis=0).min()) > FLAT * max(shape) and agree < 0.9 * len(start):
        found, inside = cv2.findHomography(start, end, cv2.RANSAC, NEAR)
        bent = None if found is None else np.asarray(found, np.float64)
        if bent is not None and int(inside.sum()) > 1.1 * agree and _sane(bent, shape):
            matrix, agree = bent, int(inside.sum())
    if matrix is None or agree < max(FEWEST_POINTS, AGREE * len(start)):
        return None
    return matrix if _sane(matrix, shape) else None


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
