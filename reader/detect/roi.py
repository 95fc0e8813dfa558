"""Where a large picture deserves a closer look: detail, or letters seen at a smaller size."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from reader.records import Floats, Pixels

Mask = NDArray[np.bool_]

LETTERS = 0.1  # a smaller size was this sure of letters
SURFACE = 0.5  # or of a surface that may carry some
PLAIN = 2  # grey levels; a spot without more contrast is sky, wall or blur
REACH = 3  # cells of the smaller size around what is found


def worth_a_look(picture: Pixels, text: Floats, surface: Floats | None) -> Mask:
    """Cells that may hold letters too small for the size before.

    Args:
        picture: grey, uint8, the larger size.
        text: h x w, 0..1, where the smaller size saw letters.
        surface: h x w, 0..1, where it saw a surface that may carry letters; None: anywhere.

    Returns:
        h x w, to be stretched over the picture.
    """
    able = contrast(picture, (text.shape[1], text.shape[0])) > PLAIN
    if surface is not None:
        able &= surface > SURFACE
    found = (text > LETTERS) | able
    side = 2 * REACH + 1
    lone = cv2.morphologyEx(found.astype(np.uint8), cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    return np.asarray(cv2.dilate(lone, np.ones((side, side), np.uint8)) > 0)


def contrast(picture: Pixels, size: tuple[int, int]) -> Pixels:
    """Mean fine contrast of each spot in grey levels, the picture cut into `size` spots (w, h)."""
    fine = cv2.absdiff(picture, cv2.blur(picture, (7, 7)))  # letters' strokes are thinner
    return np.asarray(cv2.resize(fine, size, interpolation=cv2.INTER_AREA), np.uint8)
