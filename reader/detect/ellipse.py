"""Ellipses as squeezed circles, and the fit of several concentric ones at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

FLATTEST = 0.02  # minor by major axis; what is flatter is a line


@dataclass(frozen=True)
class Ellipse:
    """Centre, half axes (major first) in pixels, and the major axis' angle in radians.

    Angles run from the x axis towards the y axis: clockwise as a picture is looked at.
    """

    x: float
    y: float
    major: float
    minor: float
    angle: float

    @property
    def size(self) -> float:
        """Radius of the circle of the same area."""
        return float(np.sqrt(self.major * self.minor))

    def scaled(self, share: float) -> Ellipse:
        """The concentric ellipse of the same shape, `share` times as large."""
        return replace(self, major=self.major * share, minor=self.minor * share)

    def moved_to_scale(self, factor: float) -> Ellipse:
        """The same ellipse in a picture `factor` times as large (pixel centres kept in place)."""
        x, y = (self.x + 0.5) * factor - 0.5, (self.y + 0.5) * factor - 0.5
        return Ellipse(x, y, self.major * factor, self.minor * factor, self.angle)

    def points(self, turns: Points) -> Points:
        """Points at these angles of the circle behind it, N x 2; rising angles run clockwise."""
        along, across = self.major * np.cos(turns), self.minor * np.sin(turns)
        cos, sin = np.cos(self.angle), np.sin(self.angle)
        return np.stack(
            [self.x + along * cos - across * sin, self.y + along * sin + across * cos], 1
        )

    def to_circle(self, points: Points, normals: Points) -> tuple[Points, Points]:
        """Points and edge normals in the frame in which this ellipse is the unit circle."""
        cos, sin = np.cos(self.angle), np.sin(self.angle)
        turn = np.array([[cos, -sin], [sin, cos]])
        axes = np.array([self.major, self.minor])
        round_points = ((points - np.array([self.x, self.y])) @ turn) / axes
        round_normals = (normals @ turn) * axes
        length = np.hypot(round_normals[:, 0], round_normals[:, 1])
        return round_points, round_normals / np.maximum(length, 1e-12)[:, None]


def fit_concentric(groups: Sequence[Points]) -> Ellipse | None:
    """The ellipse whose scaled copies best hold the groups' points; its size is the first group's.

    Direct least-squares fit of ellipses (Fitzgibbon, Pilu and Fisher 1999, in the stable form of
    Halir and Flusser 1998), with one free constant term for each group, so that all edges of a
    tyre bear on the shared centre and shape.

    Args:
        groups: points of each concentric edge, N x 2.

    Returns:
        The ellipse, or `None` when the points describe none.
    """
    middle = np.concatenate(groups).mean(0)
    spread = max(float(np.abs(np.concatenate(groups) - middle).max()), 1e-9)
    quadratic, linear = [], []
    for group in groups:
        x, y = ((group - middle) / spread).T
        # Centring each column within the group eliminates the group's own constant.
        quadratic.append(_centred(np.stack([x * x, x * y, y * y], 1)))
        linear.append(_centred(np.stack([x, y], 1)))
    d1, d2 = np.concatenate(quadratic), np.concatenate(linear)
    try:
        to_linear = -np.linalg.solve(d2.T @ d2, d2.T @ d1)
        reduced = d1.T @ d1 + d1.T @ d2 @ to_linear
        constrained = np.stack([reduced[2] / 2, -reduced[1], reduced[0] / 2])
        vectors = np.linalg.eig(constrained)[1].real
    except np.linalg.LinAlgError:
        return None
    good = np.flatnonzero(4 * vectors[0] * vectors[2] - vectors[1] ** 2 > 0)
    if not len(good):
        return None
    shape = vectors[:, good[0]]
    first = (groups[0] - middle) / spread
    return _from_conic(shape, to_linear @ shape, first, middle, spread)


def _centred(columns: Points) -> Points:
    return columns - columns.mean(0)


def _from_conic(
    shape: Points, slope: Points, first: Points, middle: Points, spread: float
) -> Ellipse | None:
    """Axes of A x² + B xy + C y² + D x + E y = const through the first group's points."""
    matrix = np.array([[shape[0], shape[1] / 2], [shape[1] / 2, shape[2]]])
    if np.trace(matrix) < 0:
        matrix, slope = -matrix, -slope
    values, axes = np.linalg.eigh(matrix)  # rising: the major axis comes first
    if values[0] <= FLATTEST**2 * values[1]:
        return None
    centre = -np.linalg.solve(matrix, slope) / 2
    offset = first - centre
    level = float(np.mean(np.einsum("ni,ij,nj->n", offset, matrix, offset)))
    if level <= 0:
        return None
    major, minor = np.sqrt(level / values) * spread
    x, y = centre * spread + middle
    return Ellipse(
        float(x), float(y), float(major), float(minor), float(np.arctan2(axes[1, 0], axes[0, 0]))
    )
