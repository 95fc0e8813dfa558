"""How good a frame is before anything is read in it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reader.records import Pixels

WORKING_SIDE = 960  # pixels of the longer side at which frames are judged
BRIGHT, DARK = 250, 24  # grey levels from which a pixel is burnt out, up to which it is lost


@dataclass(frozen=True)
class Quality:
    """`sharp` is fine contrast as a share of coarse contrast, about 0 to 1, comparable only among
    frames of like content; `bright` and `dark` are shares of burnt-out and lost pixels."""

    sharp: float
    bright: float
    dark: float

    @property
    def usable(self) -> float:
        """Sharpness, less where much of the frame is burnt out or black."""
        return self.sharp * (1 - min(0.8, self.bright)) * (1 - min(0.8, 0.7 * self.dark))


def judge(grey: Pixels) -> Quality:
    """Sharpness and exposure of a grey frame, uint8, H x W."""
    step = max(1, round(max(grey.shape) / WORKING_SIDE))
    # Blur of one or two pixels shows at full resolution only: cut out a grid of bands, not shrink.
    rows = np.arange(0, grey.shape[0] - 48, 48 * step)
    some = np.vstack([grey[row : row + 48] for row in rows]) if len(rows) else grey
    fine = cv2.absdiff(some, cv2.GaussianBlur(some, (3, 3), 0))
    coarse = cv2.absdiff(some, cv2.blur(some, (17, 17)))
    few = grey[:: 2 * step, :: 2 * step]
    return Quality(
        sharp=float(fine.mean()) / (float(coarse.mean()) + 1.0),
        bright=float((few >= BRIGHT).mean()),
        dark=float((few <= DARK).mean()),
    )
