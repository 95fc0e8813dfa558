"""Small pictures of parts set into 12 megapixels of other things, where they may be overlooked."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from reader.photo.load import load
from reader.records import Floats, Pixels

SIZE = (3000, 4000)  # height, width
CORNER = (1000, 1500)  # where the picture's top left corner goes
SOFT = 40  # pixels at the picture's edge that fade into what is around
GRAINS = (1, 3, 9, 30, 120)  # pixels; a rough wall has all of them

KINDS = ("its own edge drawn out", "a rough wall", "a photograph")


def set_into(picture: Pixels, kind: str, number: int, backgrounds: Path) -> Pixels:
    """The picture with other things around it.

    Args:
        picture: H x W x 3, RGB, smaller than SIZE by CORNER at least.
        kind: one of KINDS.
        number: seed of the wall, and which photograph.
        backgrounds: folder of photographs, *.jpg.

    Returns:
        SIZE x 3, RGB.

    Raises:
        ValueError: no such kind.
        PhotoError: a background can't be opened.
    """
    if kind == "its own edge drawn out":
        around = _drawn_out(picture, number)
    elif kind == "a rough wall":
        around = _wall(number)
    elif kind == "a photograph":
        files = sorted(backgrounds.glob("*.jpg"))
        around = _filling(load(files[number % len(files)]).pixels)
    else:
        raise ValueError(f"no such surroundings: {kind}")
    height, width = picture.shape[:2]
    share = np.zeros((height, width), np.float32)
    share[SOFT:-SOFT, SOFT:-SOFT] = 1
    share = np.asarray(cv2.GaussianBlur(share, (0, 0), SOFT / 2.5), np.float32)[..., None]
    window = np.s_[CORNER[0] : CORNER[0] + height, CORNER[1] : CORNER[1] + width]
    around[window] = np.rint(around[window] * (1 - share) + picture * share)
    return around


def _drawn_out(picture: Pixels, number: int) -> Pixels:
    below = SIZE[0] - CORNER[0] - picture.shape[0]
    right = SIZE[1] - CORNER[1] - picture.shape[1]
    wide = cv2.copyMakeBorder(picture, CORNER[0], below, CORNER[1], right, cv2.BORDER_REPLICATE)
    soft = cv2.GaussianBlur(wide, (0, 0), 30).astype(np.float32) / 255
    noise = np.random.default_rng(number).normal(0, 0.006, soft.shape)  # as a camera has
    return _bytes(np.asarray(soft + noise, np.float32))


def _wall(number: int) -> Pixels:
    rng = np.random.default_rng(number)
    grey = np.full(SIZE, 0.55, np.float32)
    for grain in GRAINS:
        coarse = max(1, grain // 3)
        noise = rng.normal(0, 1, (SIZE[0] // coarse, SIZE[1] // coarse)).astype(np.float32)
        soft = cv2.resize(cv2.GaussianBlur(noise, (0, 0), min(grain, 3)), SIZE[::-1])
        grey += np.float32(0.02) * soft.astype(np.float32) / soft.std()
    return _bytes(np.dstack([grey * 1.03, grey, grey * 0.95]))


def _filling(photo: Pixels) -> Pixels:
    scale = max(SIZE[1] / photo.shape[1], SIZE[0] / photo.shape[0])
    large = cv2.resize(photo, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    return np.array(large[: SIZE[0], : SIZE[1]], np.uint8)


def _bytes(picture: Floats) -> Pixels:
    return np.asarray((np.clip(picture, 0, 1) * 255).round(), np.uint8)
