"""Decoded pictures of any mode and orientation become upright 8-bit RGB, a few rows at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from reader.records import Pixels

if TYPE_CHECKING:
    from PIL.Image import Image

ROWS_AT_ONCE = 256  # converting in bands keeps a 50-megapixel photo's peak below 500 MB
ORIENTATION_TAG = 0x0112
FULL_SCALES = (255, 1023, 4095, 16383, 65535)


def upright(image: Image) -> Pixels:
    """The loaded picture as H x W x 3, turned by its orientation tag exactly once.

    Pillow turns TIFF itself and libheif turns HEIC; both then report no orientation, so what is
    left to do is what the tag says after loading. Transparent areas become white; greyscale of
    more than 8 bits is divided by the smallest usual full scale that holds its brightest pixel.
    """
    stored = (image.height, image.width)
    orientation = _orientation(image)
    out = np.empty((*(stored[::-1] if orientation >= 5 else stored), 3), np.uint8)
    view = _as_stored(out, orientation)
    full = _full_scale(image)
    for top in range(0, stored[0], ROWS_AT_ONCE):
        band = image.crop((0, top, stored[1], min(stored[0], top + ROWS_AT_ONCE)))
        view[top : top + band.height] = _rgb(band, full)
    return out


def _orientation(image: Image) -> int:
    """EXIF orientation 1 to 8; 1 when missing or nonsense."""
    try:
        value = image.getexif().get(ORIENTATION_TAG, 1)
        return int(value) if 1 <= int(value) <= 8 else 1
    except Exception:  # damaged metadata must not lose a good picture
        return 1


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
