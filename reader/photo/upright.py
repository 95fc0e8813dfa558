"""Decoded pictures of any mode and orientation become upright 8-bit RGB, a few rows at a time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from reader.records import Pixels

if TYPE_CHECKING:
    from PIL.Image import Image

ROWS_AT_ONCE = 256  # converting in bands keeps a 50-megapixel photo's peak below 500 MB
ORIENTATION_TAG = 0x0112
FULL_SCALES = (255, 1023, 4095, 16383, 65535)


def bands(image: Image) -> Iterator[Pixels]:
    """The loaded picture's rows from the file's first on, as h x W x 3, a band at a time.

    Transparent areas become white; greyscale of more than 8 bits is divided by the smallest usual
    full scale that holds its brightest pixel.
    """
    full = _full_scale(image)
    for top in range(0, image.height, ROWS_AT_ONCE):
        band = image.crop((0, top, image.width, min(image.height, top + ROWS_AT_ONCE)))
        yield np.ascontiguousarray(np.broadcast_to(_rgb(band, full), (*band.size[::-1], 3)))


def orientation(image: Image) -> int:
    """EXIF orientation 1 to 8 that is still to be applied; 1 when missing or nonsense.

    Pillow turns TIFF itself and libheif turns HEIC; both then report no orientation, so what is
    left to do is what the tag says after loading.
    """
    try:
        value = image.getexif().get(ORIENTATION_TAG, 1)
        return int(value) if 1 <= int(value) <= 8 else 1
    except Exception:  # damaged metadata must not lose a good picture
        return 1


def upright(rows: int, cols: int, turn: int) -> tuple[Pixels, Pixels]:
    """Room for a picture of `rows` x `cols` as stored, to be turned by orientation `turn`.

    Returns:
        The upright picture, and a view of it in which row 0, column 0 is the file's first pixel.
    """
    out = np.empty((cols, rows, 3) if turn >= 5 else (rows, cols, 3), np.uint8)
    return out, _as_stored(out, turn)


def _as_stored(out: Pixels, orientation: int) -> Pixels:
    """A view of the upright picture in which row 0, column 0 is the file's first pixel.

    EXIF 2.32, tag 274: the value names the sides of the upright picture at which the file's row 0
    and column 0 lie: 1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right
    top, 7 right bottom, 8 left bottom.
    """
    if orientation in (2, 3, 6, 7):
        out = out[:, ::-1]
    if orientation in (3, 4, 7, 8):
        out = out[::-1]
    return out.transpose(1, 0, 2) if orientation >= 5 else out


def _full_scale(image: Image) -> float:
    """The value that becomes white, for greyscale of more than 8 bits; 0 for other pictures."""
    if image.mode[0] not in "IF":
        return 0.0
    top = 0.0
    for row in range(0, image.height, ROWS_AT_ONCE):
        bottom = min(image.height, row + ROWS_AT_ONCE)
        band = np.asarray(image.crop((0, row, image.width, bottom)), np.float32)
        top = max(top, float(np.max(band, initial=0, where=np.isfinite(band))))
    if image.mode == "F" and top <= 1:
        return 1.0
    return float(next((full for full in FULL_SCALES if top <= full), top))


def _rgb(band: Image, full: float) -> Pixels:
    """A few rows of any mode as H x W x 3 or, grey, H x W x 1."""
    from PIL import Image

    if full:
        grey = np.nan_to_num(np.asarray(band, np.float32)) * (255 / full)
        return np.clip(grey + 0.5, 0, 255).astype(np.uint8)[..., None]
    if band.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in band.info:
        band = band.convert("RGBA")
        band = Image.alpha_composite(Image.new("RGBA", band.size, "white"), band)
    return np.asarray(band.convert("RGB"))
