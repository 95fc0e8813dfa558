"""The general scene-text detector: PP-OCRv6 small, differentiable binarisation (DB).

The network gives, per pixel, the probability of lying in the core of a text line; a core is the
line shrunk inwards, so each box found is grown back by area x `GROW` / perimeter. Source: Liao et
al., 'Real-time Scene Text Detection with Differentiable Binarization', AAAI 2020, section 3.3;
thresholds as in the wheel's config.yaml.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reader.errors import EngineError
from reader.ocr import scene_models
from reader.records import Floats, Pixels

CORE = 0.3  # probability from which a pixel belongs to a core
KEEP = 0.5  # mean probability below which a box is dropped
GROW = 1.6
SMALLEST = 3.0  # pixels, shorter side of a core in the resized picture
MOST = 1000  # boxes looked at, largest first
_STEP = 32  # the network halves its input five times


@dataclass(frozen=True, eq=False)
class Quad:
    """A text line's box: 4 x 2 corners (x, y) in photo pixels, and the mean probability in it.

    Corners run clockwise as seen in the picture, starting where reading starts; the first side is
    the long one and points right (or down, for an upright line).
    """

    corners: Floats
    score: float

    @property
    def size(self) -> tuple[float, float]:
        """Length along the line and height across it, in photo pixels."""
        first, second, third = self.corners[:3]
        return float(np.hypot(*(second - first))), float(np.hypot(*(third - second)))


def find(pixels: Pixels, max_side: int = 1280) -> list[Quad]:  # bounds the time
    """Lines of text in a picture, most certain first.

    Args:
        pixels: RGB, uint8, H x W x 3.
        max_side: the longer side is shrunk to this many pixels; a smaller picture is left as is.
            Lines below about 8 pixels high after that are lost: pass tiles for small text.

    Raises:
        EngineError: the model's wheel is missing or onnxruntime fails.
    """
    height, width = pixels.shape[:2]
    small = _resized(pixels, max_side)
    scale = np.array([width / small.shape[1], height / small.shape[0]], dtype=np.float32)
    quads = boxes(probabilities(small))
    scaled = [Quad(_ordered(quad.corners * scale), quad.score) for quad in quads]
    return sorted(scaled, key=lambda quad: -quad.score)


def probabilities(pixels: Pixels) -> Floats:
    """The network's map for a picture whose sides are multiples of 32: H x W in 0..1."""
    tensor = (pixels.astype(np.float32) / 127.5 - 1).transpose(2, 0, 1)[np.newaxis]
    net = scene_models.session(scene_models.FINDER)
    try:
        out = net.run(None, {"x": np.ascontiguousarray(tensor)})[0]
    except Exception as error:  # onnxruntime has no common base class for its errors
        raise EngineError(f"the scene detector failed ({error})", "try another engine") from error
    return np.asarray(out[0, 0], dtype=np.float32)


def boxes(chances: Floats) -> list[Quad]:
    """Boxes around the cores of a map, grown back to the lines; corners in the map's pixels."""
    cores = cv2.dilate((chances > CORE).astype(np.uint8), np.ones((2, 2), np.uint8))
    outlines, _ = cv2.findContours(cores, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
    outlines = sorted(outlines, key=cv2.contourArea, reverse=True)[:MOST]
    found = []
    for outline in outlines:
        middle, (wide, high), angle = cv2.minAreaRect(outline)
        if min(wide, high) < SMALLEST:
            continue
        core = np.asarray(cv2.boxPoints((middle, (wide, high), angle)), dtype=np.float32)
        score = _mean_inside(chances, core)
        if score < KEEP:
            continue
        grow = wide * high * GROW / (wide + high)  # twice area / perimeter: both sides move
        line = cv2.boxPoints((middle, (wide + grow, high + grow), angle))
        found.append(Quad(np.asarray(line, dtype=np.float32), score))
    return found


def _mean_inside(chances: Floats, corners: Floats) -> float:
    """Mean of the map inside a box; looks only at the box's own part of the map."""
    high, wide = chances.shape
    low = np.clip(np.floor(corners.min(axis=0)).astype(int), 0, (wide - 1, high - 1))
    top = np.clip(np.ceil(corners.max(axis=0)).astype(int), 0, (wide - 1, high - 1))
    mask = np.zeros((top[1] - low[1] + 1, top[0] - low[0] + 1), dtype=np.uint8)
    cv2.fillPoly(mask, [np.round(corners - low).astype(np.int32)], 1)
    part = chances[low[1] : top[1] + 1, low[0] : top[0] + 1]
    return float(cv2.mean(part, mask)[0])


def _ordered(corners: Floats) -> Floats:
    """The same box, its first side the long one and pointing right or, if upright, down."""
    sides = np.roll(corners, -1, axis=0) - corners
    along = [side for side in range(4) if _reads(sides, side)]  # sides of a box
    start = along[0] if along else 0
    return np.roll(corners, -start, axis=0).astype(np.float32)


def _reads(sides: Floats, k: int) -> bool:
    long_side = np.hypot(*sides[k]) >= np.hypot(*sides[(k + 1) % 4])
    x, y = sides[k]
    return bool(long_side and (x > 0 if abs(x) >= abs(y) else y > 0))


def _resized(pixels: Pixels, max_side: int) -> Pixels:
    """Shrunk to `max_side`, both sides rounded to what the network takes."""
    height, width = pixels.shape[:2]
    ratio = min(1.0, max_side / max(height, width))
    size = [max(_STEP, round(side * ratio / _STEP) * _STEP) for side in (width, height)]
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
