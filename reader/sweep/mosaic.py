"""The picture that a sweep was of: its sharpest frames laid together, segment beside segment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import cv2
import numpy as np

from reader.records import Floats, Pixels
from reader.sweep.motion import Matrix, moved

MOST_FRAMES = 6
MOST_PIXELS = 40_000_000  # of a canvas; a larger one is not painted


@dataclass(frozen=True, eq=False)
class Kept:
    """A frame worth keeping, and where it lies on its segment's mosaic."""

    pixels: Pixels
    usable: float
    segment: int
    to_mosaic: Matrix
    middle: Floats
    seconds: float


@dataclass
class Album:
    """The sharpest frames of the places that a sweep has been at."""

    frames: list[Kept] = field(default_factory=list)

    def offer(
        self, pixels: Pixels, usable: float, segment: int, to_mosaic: Matrix, seconds: float
    ) -> None:
        """Keep a frame, unless there are better ones of about the same place."""
        high, wide = pixels.shape[:2]
        middle = moved(np.array([[wide / 2, high / 2]], np.float32), to_mosaic)[0]
        self.frames.append(Kept(pixels, usable, segment, to_mosaic, middle, seconds))
        if len(self.frames) <= MOST_FRAMES:
            return
        pairs = [
            (self._apart(a, b), min(a, b, key=lambda k: self.frames[k].usable))
            for a in range(len(self.frames))
            for b in range(a)
        ]
        del self.frames[min(pairs)[1]]

    def _apart(self, a: int, b: int) -> float:
        one, other = self.frames[a], self.frames[b]
        if one.segment != other.segment:
            return 1e9
        return float(np.hypot(*(one.middle - other.middle)))

    def painted(self, shifts: Mapping[int, Floats], size: tuple[int, int]) -> Pixels | None:
        """The canvas, RGB, H x W x 3; None where it would be too large.

        Args:
            shifts: of each segment's mosaic on the canvas.
            size: of the canvas, height and width.
        """
        if size[0] * size[1] > MOST_PIXELS:
            return None
        canvas = np.zeros((*size, 3), np.uint8)
        for kept in sorted(self.frames, key=lambda one: one.usable):
            x, y = shifts[kept.segment]
            place = np.array([[1, 0, x], [0, 1, y], [0, 0, 1]], np.float64) @ kept.to_mosaic
            pixels = kept.pixels
            if pixels.ndim == 2:
                pixels = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_GRAY2RGB), np.uint8)
            cv2.warpPerspective(
                pixels, place, (size[1], size[0]), dst=canvas,
                borderMode=cv2.BORDER_TRANSPARENT,
            )  # fmt: skip
        return canvas
