"""Overlapping tiles of a photo at full resolution, without those that show nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from reader.records import Photo, Pixels

PLAIN = 3.0  # grey levels: a spot whose fine contrast is below this is flat or only shaded
LEAST_BUSY = 0.001  # share of spots with detail; a marking 12 px high fills 0.002 of 1024²
SPOT = 8  # photo pixels per spot of the detail map


@dataclass(frozen=True, eq=False)
class Tile:
    """A piece of a photo: a view of its pixels, nothing is copied."""

    x: int  # of its first column in the photo
    y: int
    pixels: Pixels  # H x W x 3
    detail: float  # share of its spots that show fine contrast, 0..1


def tiles(photo: Photo, side: int = 1024, overlap: int = 192) -> Iterator[Tile]:
    """Cut a photo into tiles at full resolution, skipping those without detail.

    Args:
        photo: any size; a photo smaller than `side` is one tile.
        side: of a tile in pixels.
        overlap: of neighbours, at least; a line shorter than this lies whole in some tile.

    Yields:
        Tiles row by row. All have the full side unless the photo is smaller.

    Raises:
        ValueError: the overlap is not smaller than the side.
    """
    if not 0 <= overlap < side:
        raise ValueError(f"tiles of {side} pixels cannot overlap by {overlap}")
    rows, cols = photo.shape
    for y in _starts(rows, side, overlap):
        for x in _starts(cols, side, overlap):
            pixels = photo.pixels[y : y + side, x : x + side]
            busy = detail_share(pixels)
            if busy >= LEAST_BUSY:
                yield Tile(x, y, pixels, busy)


def detail_share(pixels: Pixels) -> float:
    """Share of 8 x 8 spots with fine contrast: letters have it, sky, rubber and blur have not."""
    grey = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)
    size = (max(1, grey.shape[1] // SPOT), max(1, grey.shape[0] // SPOT))
    fine = cv2.absdiff(grey, cv2.GaussianBlur(grey, (0, 0), 3))
    spots = cv2.resize(fine, size, interpolation=cv2.INTER_AREA)
    return float((spots > PLAIN).mean())


def _starts(length: int, side: int, overlap: int) -> list[int]:
    """First pixels of the tiles along one side, evenly spread, the last one flush with the end."""
    if length <= side:
        return [0]
    count = int(np.ceil((length - overlap) / (side - overlap)))
    return [round(start) for start in np.linspace(0, length - side, count)]
