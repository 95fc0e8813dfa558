"""Whether a picture shows a QR code that is too blurred, dirty or cut to be read.

A blurred code is still a square of an even grey on white paper, without a sharp edge. The bounds
below were chosen on drawn labels (see `tests/photo/test_unread.py`); no photograph of a tyre, rim
or anything else at hand (some 230) has such a square.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import cv2
import numpy as np

from reader.records import Floats, Pixels

SIDE = 480  # pixels of the longer side in which squares are looked for
LEAST_SIDE = 14  # of a square, in those pixels
CLOSED = (5, 19)  # pixels over which dark modules are taken together
SHADES = (0.35, 0.45, 0.55, 0.65, 0.75)  # between the darkest and the brightest, where dark ends
CELLS = 64  # a side of the square, once it is laid straight
AIR = 14  # cells of paper around it: 4 modules of 29 are always white (ISO/IEC 18004)
BLUR = 1.2  # modules over which the edge of a blurred code is spread; a sharp one is read
ROUGH = 1.1  # unevenness times spread; what has blurred the edge has blurred the modules, too

Rect = tuple[Sequence[float], Sequence[float], float]  # centre, sides, degrees, as OpenCV has it


def unread_code(grey: Pixels, seen: Sequence[Floats] = ()) -> bool:
    """Whether there is a code that can't be read.

    Args:
        grey: H x W, 8 bits.
        seen: four corners (4 x 2, pixels) of each code that was found but not understood.
    """
    for corners in seen:
        if (
            _on_paper(grey, cv2.minAreaRect(np.asarray(corners, np.float32)), sharp=True)
            is not None
        ):
            return True
    scale = min(1.0, SIDE / max(grey.shape))
    if min(grey.shape) * scale < 2 * LEAST_SIDE:
        return False
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    soft = np.asarray(cv2.GaussianBlur(small, (0, 0), 1.5), np.uint8)
    for rect in _squares(soft):
        unevenness = _on_paper(soft, rect)
        if unevenness is not None:
            spread = _spread(grey, rect, 1 / scale)
            if spread >= BLUR and unevenness * spread < ROUGH:
                return True
    return False


def _squares(soft: Pixels) -> Iterator[Rect]:
    """Dark patches that are about square."""
    darkest, brightest = np.percentile(soft, (2, 98))
    for shade in SHADES:
        dark = (soft < darkest + shade * (brightest - darkest)).astype(np.uint8)
        for size in CLOSED:
            whole = cv2.morphologyEx(dark, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8))
            for outline in cv2.findContours(whole, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]:
                rect = cv2.minAreaRect(outline)
                short, long = sorted(rect[1])
                square = short >= LEAST_SIDE and long <= 1.1 * short <= 0.8 * max(soft.shape)
                if square and cv2.contourArea(outline) >= 0.72 * short * long:
                    yield rect


def _on_paper(soft: Pixels, rect: Rect, sharp: bool = False) -> float | None:
    """How uneven the square is, if it is half dark all over and lies on an even, brighter ground.

    The deviation of its shades, in units of its contrast to the ground.
    """
    patch = _laid(soft, rect, 1.0)
    edge = AIR - 6  # the border itself is blurred
    inner = patch[AIR + 6 : -AIR - 6, AIR + 6 : -AIR - 6]
    sides = (patch[2:edge], patch[-edge:-2], patch[:, 2:edge], patch[:, -edge:-2])
    ground = np.concatenate([side.ravel() for side in sides])
    paper = float(np.median(ground))
    contrast = paper - float(inner.mean())
    if contrast < 35 or not 0.28 < contrast / paper < (0.66 if sharp else 0.6):
        return None
    means = [float(side.mean()) for side in sides]
    if max(means) - min(means) > 0.18 * contrast or float(ground.std()) > 0.22 * contrast:
        return None
    lines = (inner.mean(0)[6:-6], inner.mean(1)[6:-6])
    brighter = float((soft > paper + 0.1 * contrast).mean())
    if brighter > 0.25 or any(float(np.ptp(line)) > 0.75 * contrast for line in lines):
        return None
    return float(inner.std()) / contrast


def _spread(grey: Pixels, rect: Rect, scale: float) -> float:
    """Over how many modules, of a code of 29, the square's edges are spread."""
    patch = _laid(grey, rect, scale)
    depth = 2 * AIR - 4
    ways = (patch, patch[::-1], patch.T, patch.T[::-1])
    falls = [way[2:depth, AIR + 6 : -AIR - 6].mean(1) for way in ways]
    spreads = [float(np.ptp(fall) / max(1e-3, -np.diff(fall).min())) for fall in falls]
    return float(np.median(spreads)) * 29 / CELLS


def _laid(picture: Pixels, rect: Rect, scale: float) -> Floats:
    """The square and the ground around it, laid straight."""
    centre, sides, degrees = rect
    turn = np.deg2rad(degrees)
    right = np.array([np.cos(turn), np.sin(turn)]) * sides[0] / CELLS * scale
    down = np.array([-np.sin(turn), np.cos(turn)]) * sides[1] / CELLS * scale
    corner = np.array(centre) * scale - (right + down) * (CELLS / 2 + AIR)
    onto = np.array([[right[0], down[0], corner[0]], [right[1], down[1], corner[1]]], np.float32)
    size = (CELLS + 2 * AIR, CELLS + 2 * AIR)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    laid = cv2.warpAffine(picture, onto, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(laid, np.float32)
