"""Run the trained line finder over a photo at several sizes.

The network sees tiles of one size, each normalised by itself as in training, and tells for every
fourth pixel whether it lies on a line of lettering, how that line runs, and how high its capitals
are.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reader.cores import cores, open_model
from reader.records import Floats, Pixels

MODEL = Path(__file__).parent.parent / "data" / "finder.onnx"
CELL = 4  # picture pixels a map cell
TILE = 640  # pixels a side, a multiple of 32
MARGIN = 48  # pixels at a tile's edge whose answers are left to its neighbour
SMALLEST = 420  # shorter pictures are not shrunk further
BATCH = 2


@dataclass(frozen=True, eq=False)
class Maps:
    """Answers at one size of the photo; arrays are h x w, one cell for CELL x CELL pixels."""

    scale: float  # pixels of this size a photo pixel
    text: Floats  # 0..1
    axis: Floats  # h x w x 2: cosine and sine of twice the line's angle
    along: Floats  # h x w x 2: reading direction, not normalised
    height: Floats  # capital height in pixels of this size
    surface: Floats  # 0..1

    def to_photo(self, cells: Floats) -> Floats:
        """Cell coordinates (N x 2, x and y) to photo pixels."""
        return ((cells + 0.5) * CELL / self.scale - 0.5).astype(np.float32)


@lru_cache(maxsize=2)
def _session(threads: int, process: int) -> Any:
    return open_model(MODEL, threads)


def sizes(shape: tuple[int, int]) -> list[float]:
    """Scales at which a photo is looked at: full, half, quarter… down to a small picture."""
    scales = [1.0]
    while min(shape) * scales[-1] / 2 >= SMALLEST and len(scales) < 5:
        scales.append(scales[-1] / 2)
    if max(shape) < 900:  # a small crop: letters may be too large or too small for one size
        scales.insert(0, 2.0)
    if min(shape) * scales[-1] > 1.5 * SMALLEST:
        scales.append(SMALLEST / min(shape))
    return scales


def look(grey: Pixels) -> Iterator[Maps]:
    """Maps at each of the sizes, smallest first; `grey` is uint8, H x W."""
    for scale in reversed(sizes((grey.shape[0], grey.shape[1]))):
        yield _maps(_resized(grey, scale), scale)


def _resized(grey: Pixels, scale: float) -> Pixels:
    if scale == 1.0:
        return grey
    mode = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=mode), np.uint8)


def _starts(length: int) -> list[int]:
    """Tile starts that cover a side, multiples of CELL."""
    if length <= TILE:
        return [0]
    step = TILE - 2 * MARGIN
    count = -(-(length - TILE) // step) + 1
    return [round((length - TILE) * k / (count - 1) / CELL) * CELL for k in range(count)]


def _maps(picture: Pixels, scale: float) -> Maps:
    height, width = picture.shape
    whole = np.zeros((7, -(-height // CELL), -(-width // CELL)), np.float32)
    whole[0] = -10.0
    places = [(y, x) for y in _starts(height) for x in _starts(width)]
    session = _session(cores(), os.getpid())
    for start in range(0, len(places), BATCH):
        chosen = places[start : start + BATCH]
        tiles = np.stack([_tile(picture, y, x) for y, x in chosen])
        answers = session.run(None, {"picture": tiles})[0]
        for (y, x), answer in zip(chosen, answers, strict=True):
            _lay(whole, answer, y, x, (height, width))
    text = 1 / (1 + np.exp(-whole[0]))
    return Maps(
        scale=scale,
        text=text,
        axis=np.ascontiguousarray(whole[1:3].transpose(1, 2, 0)),
        along=np.ascontiguousarray(whole[3:5].transpose(1, 2, 0)),
        height=np.exp(np.clip(whole[5], 0.5, 6)),
        surface=1 / (1 + np.exp(-whole[6])),
    )


def _tile(picture: Pixels, y: int, x: int) -> Floats:
    """One tile, 1 x side x side, normalised; short pictures are continued by their edge."""
    cut = picture[y : y + TILE, x : x + TILE]
    down, right = (-cut.shape[0]) % 32, (-cut.shape[1]) % 32
    if len(picture) > TILE or picture.shape[1] > TILE:  # tiles of one batch share a shape
        down = max(min(len(picture), TILE), cut.shape[0]) + 31
        down = down // 32 * 32 - cut.shape[0]
        right = (max(min(picture.shape[1], TILE), cut.shape[1]) + 31) // 32 * 32 - cut.shape[1]
    mean, deviation = float(cut.mean()), float(cut.std())
    values = (cut.astype(np.float32) - mean) / (deviation + 4.0)
    return np.pad(values, ((0, down), (0, right)), "edge")[None]


def _lay(whole: Floats, answer: Floats, y: int, x: int, shape: tuple[int, int]) -> None:
    """Copy a tile's answer into the whole map, less the margin that neighbours know better."""
    top = 0 if y == 0 else MARGIN // CELL
    left = 0 if x == 0 else MARGIN // CELL
    bottom = min(answer.shape[1], whole.shape[1] - y // CELL)
    right = min(answer.shape[2], whole.shape[2] - x // CELL)
    if y + TILE < shape[0]:
        bottom -= MARGIN // CELL
    if x + TILE < shape[1]:
        right -= MARGIN // CELL
    target = np.s_[:, y // CELL + top : y // CELL + bottom, x // CELL + left : x // CELL + right]
    whole[target] = answer[:, top:bottom, left:right]
