"""Run the trained line finder over a photo at several sizes.

The network sees tiles, each normalised by itself as in training, and tells for every fourth pixel
whether it lies on a line of lettering, how that line runs, and how high its capitals are. A large
picture costs most, so it is looked at only where it shows detail or the next smaller size letters.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reader.detect.roi import Mask, worth_a_look
from reader.records import Floats, Pixels
from reader.threads import cores, open_model

MODEL = Path(__file__).parent.parent / "data" / "finder.onnx"
CELL = 4  # picture pixels a map cell
TILE = 672  # pixels a side at most; training showed 512
MARGIN = 40  # pixels at a tile's edge whose answers are left to its neighbour
SMALLEST = 420  # shorter pictures are not shrunk further
GATED = 4_000_000  # pixels; larger pictures are looked at only where they show letters or detail
HUGE = 16_000_000  # pixels; larger ones only where the smaller size saw a surface, too
ENLARGED = 3_200_000  # pixels at most of a photo that is looked at twice enlarged
LEAST_SIDE = 192  # pixels of a tile: less shows no surroundings

Box = tuple[int, int, int, int]  # top, bottom, left, right in pixels, the ends excluded


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
    """Scales at which a photo is looked at: full, half, quarter… down to a small picture.

    A photo that is not large is looked at twice enlarged as well, for the smallest letters.
    """
    scales = [1.0]
    # a sixteenth shows no letters
    while min(shape) * scales[-1] / 2 >= SMALLEST and len(scales) < 5:
        scales.append(scales[-1] / 2)
    if shape[0] * shape[1] <= ENLARGED:
        scales.insert(0, 2.0)
    if min(shape) * scales[-1] > 1.5 * SMALLEST:  # else the last size is nearly it
        scales.append(SMALLEST / min(shape))
    return scales


def look(
    grey: Pixels, scales: Sequence[float] | None = None, gated: bool = False
) -> Iterator[Maps]:
    """Maps at each of the sizes, smallest first; `grey` is uint8, H x W.

    `scales`, largest first, are those of `sizes` by default; with `gated` every size is looked at
    only where the one before showed a surface or letters.
    """
    before: Maps | None = None
    for scale in reversed(sizes((grey.shape[0], grey.shape[1])) if scales is None else scales):
        picture = _resized(grey, scale)
        wanted = None
        if before is not None and (gated or picture.size > GATED):
            # a small part before a rough wall is taken for the wall: the surface can't be trusted
            trusted = before.surface if gated or picture.size > HUGE else None
            wanted = worth_a_look(picture, before.text, trusted)
        before = _maps(picture, scale, wanted)
        yield before


def _resized(grey: Pixels, scale: float) -> Pixels:
    if scale == 1.0:
        return grey
    mode = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=mode), np.uint8)


def _maps(picture: Pixels, scale: float, wanted: Mask | None = None) -> Maps:
    """Answers for a picture, or for what of it `wanted` (any size, stretched over it) marks."""
    height, width = picture.shape
    # channels of the model
    whole = np.zeros((7, -(-height // CELL), -(-width // CELL)), np.float32)
    whole[0] = whole[6] = -10.0  # log-odds: surely nothing
    session = _session(cores(), os.getpid())
    for box in _boxes((height, width), wanted):
        outer = _grown(box, MARGIN, (height, width))
        answer = session.run(None, {"picture": _tile(picture, outer)[None]})[0][0]
        _lay(whole, answer, box, outer)
    return Maps(
        scale=scale,
        text=1 / (1 + np.exp(-whole[0])),
        axis=np.ascontiguousarray(whole[1:3].transpose(1, 2, 0)),
        along=np.ascontiguousarray(whole[3:5].transpose(1, 2, 0)),
        height=np.exp(np.clip(whole[5], 0.5, 6)),  # pixels, as training drew them
        surface=1 / (1 + np.exp(-whole[6])),
    )


def _boxes(shape: tuple[int, int], wanted: Mask | None) -> Iterator[Box]:
    """Boxes side by side over the picture, each cut down to what is wanted in it."""
    rows, columns = _parts(shape[0]), _parts(shape[1])
    for top, bottom in zip(rows[:-1], rows[1:], strict=True):
        for left, right in zip(columns[:-1], columns[1:], strict=True):
            box = top, bottom, left, right
            if wanted is None:
                yield box
            elif (cut := _cut(box, wanted, shape)) is not None:
                yield cut


def _parts(length: int) -> list[int]:
    """Where to cut a side, so that each part with its margins is a tile at most."""
    count = max(1, -(-(length - 2 * MARGIN) // (TILE - 2 * MARGIN - CELL)))
    inner = [MARGIN + (length - 2 * MARGIN) * k / count for k in range(1, count)]
    return [0, *(round(cut / CELL) * CELL for cut in inner), length]


def _cut(box: Box, wanted: Mask, shape: tuple[int, int]) -> Box | None:
    """The box cut down to the wanted cells in it, in whole cells; None without any."""
    high, wide = wanted.shape[0] / shape[0], wanted.shape[1] / shape[1]
    top, left = int(box[0] * high), int(box[2] * wide)
    part = wanted[top : -int(-box[1] * high // 1), left : -int(-box[3] * wide // 1)]
    rows, columns = np.flatnonzero(part.any(1)), np.flatnonzero(part.any(0))
    if not len(rows):
        return None
    return (
        max(box[0], int((top + rows[0]) / high) // CELL * CELL),
        min(box[1], int((top + rows[-1] + 1) / high) // CELL * CELL + CELL),
        max(box[2], int((left + columns[0]) / wide) // CELL * CELL),
        min(box[3], int((left + columns[-1] + 1) / wide) // CELL * CELL + CELL),
    )


def _grown(box: Box, margin: int, shape: tuple[int, int]) -> Box:
    """The box with surroundings, inside the picture."""
    down = max(margin, -(-(LEAST_SIDE - box[1] + box[0]) // 2))
    aside = max(margin, -(-(LEAST_SIDE - box[3] + box[2]) // 2))
    return (
        max(0, box[0] - down) // CELL * CELL,
        min(shape[0], box[1] + down),
        max(0, box[2] - aside) // CELL * CELL,
        min(shape[1], box[3] + aside),
    )


def _tile(picture: Pixels, box: Box) -> Floats:
    """One tile, 1 x H x W, normalised, continued by its edge to multiples of 32."""
    cut = picture[box[0] : box[1], box[2] : box[3]]
    mean, deviation = (float(value[0, 0]) for value in cv2.meanStdDev(cut))
    # grey levels: noise is not blown up; as in training
    values = (cut.astype(np.float32) - mean) / (deviation + 4.0)
    # the model halves five times
    return np.pad(values, ((0, -cut.shape[0] % 32), (0, -cut.shape[1] % 32)), "edge")[None]


def _lay(whole: Floats, answer: Floats, box: Box, outer: Box) -> None:
    """Copy the box's part of a tile's answer into the whole map."""
    top, left = box[0] // CELL, box[2] // CELL
    bottom, right = -(-box[1] // CELL), -(-box[3] // CELL)
    y, x = outer[0] // CELL, outer[2] // CELL
    whole[:, top:bottom, left:right] = answer[:, top - y : bottom - y, left - x : right - x]
