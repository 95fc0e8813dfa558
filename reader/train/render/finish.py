"""What is done to a rendered grey picture last: a lamp's reflection, a magnifier, tints.

Arrays are H x W floats in 0..1; polygons are N x 2 (x, y), in pixels, around the size line.
"""

from __future__ import annotations

import math

import cv2
import numpy as np

from reader.records import Floats, Pixels


def glare(grey: Floats, polygon: Floats, cap: float, rng: np.random.Generator) -> Floats:
    """A lamp mirrored in the rubber: a bright smear across a part of the line."""
    height, width = grey.shape
    start, end = polygon[0], polygon[1]
    spot = start + (end - start) * float(rng.uniform(0.15, 0.85)) + rng.uniform(-1, 1, 2) * cap
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    turn = float(rng.uniform(0, math.pi))
    along = (x - spot[0]) * math.cos(turn) + (y - spot[1]) * math.sin(turn)
    across = -(x - spot[0]) * math.sin(turn) + (y - spot[1]) * math.cos(turn)
    long, wide = cap * float(rng.uniform(3, 7)), cap * float(rng.uniform(0.8, 1.8))
    smear = np.exp(-((along / long) ** 2) - (across / wide) ** 2)
    bloom = np.exp(-((along / long / 2) ** 2) - (across / wide / 4) ** 2)
    return np.clip(grey + float(rng.uniform(0.35, 0.7)) * smear + 0.2 * bloom, 0, 1)


def magnify(grey: Floats, polygon: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """A lens over the line: larger inside a rim, bent at its edge, blurred and dark outside."""
    height, width = grey.shape
    centre = (polygon.min(0) + polygon.max(0)) / 2
    radius = float(rng.uniform(0.42, 0.49)) * min(height, width)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    dx, dy = x - np.float32(centre[0]), y - np.float32(centre[1])
    reach = np.sqrt(dx**2 + dy**2) / radius
    # the line's ends stay inside the lens
    zoom = float(np.clip(0.8 * radius / np.abs(polygon - centre).max(), 1.0, 1.9))
    bend = (1 + float(rng.uniform(0.05, 0.2)) * reach**2) / zoom
    inside = cv2.remap(
        grey,
        centre[0] + dx * bend,
        centre[1] + dy * bend,
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    )
    small = cv2.GaussianBlur(cv2.resize(grey, None, fx=0.5, fy=0.5), (0, 0), 4)
    outside = cv2.resize(small, (width, height)) * 0.8
    edge = 1 / (1 + np.exp(np.clip((reach - 1) * 120, -40, 40)))
    ring = np.exp(-(((reach - 1.02) / 0.02) ** 2)) * float(rng.uniform(-0.3, 0.5))
    bent = (centre + (polygon - centre) * zoom).astype(np.float32)  # but for the bend
    return np.clip(outside * (1 - edge) + inside * edge + ring, 0, 1), bent


def colour(grey: Floats, face: Floats, rng: np.random.Generator) -> Pixels:
    """Tint: rubber nearly grey; the world behind it warmer or colder, its shadows otherwise."""

    def tint(most: float) -> Floats:
        warm, green = rng.uniform(-most, most), rng.uniform(-most, most) / 3
        return np.array([1 + warm, 1 + green, 1 - warm], np.float32)

    light = grey[..., None]
    world = tint(0.1) * light + tint(0.2) * (1 - light)
    mix = face[..., None] * tint(0.03) + (1 - face[..., None]) * world
    return np.asarray(np.clip(light * mix * 255, 0, 255), np.uint8)
