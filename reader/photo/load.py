"""The one door for pictures: every file or upload, for any purpose, is opened here.

Files and bytes in, upright RGB photos, camera times and QR texts out; everything that is no usable
photo is refused in one line. Nothing is decoded in this process (see `guard`).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from reader.errors import InputError
from reader.photo.files import printable
from reader.photo.guard import lent
from reader.records import PartKind, Photo, Pixels


@dataclass(frozen=True)
class Codes:
    """QR codes in a photo: their texts, in no order; without any, whether one can't be read."""

    texts: tuple[str, ...] = ()
    unread: bool = False


def load(
    source: Path | bytes,
    name: str = "",
    part: PartKind = "unknown",
    box: tuple[int, int, int, int] | None = None,
) -> Photo:
    """Decode one picture, turn it upright by its EXIF orientation, and make it 8-bit RGB.

    Args:
        source: a file, or a file's content.
        name: how the photo is called in answers and errors; the path when empty.
        part: what the user says it shows.
        box: x, y, width, height of the marking in the upright photo's pixels.

    Returns:
        The photo.

    Raises:
        PhotoError: missing, not a plain file, empty, not a picture of a known format, animated,
            damaged, more than `header.LARGEST_PIXELS`, or too small to hold a marking.
        InputError: the box lies outside the photo.
        EngineError: the decoding process can't be started.
    """
    name = name or _name(source)
    with lent() as guard:
        pixels: Pixels = guard.pixels(printable(name), _plain(source))
    return Photo(name, pixels, part, _checked_box(box, pixels, printable(name)))


def size(source: Path | bytes, name: str = "") -> tuple[int, int]:
    """Width and height in pixels as stored, by the header alone.

    Raises:
        PhotoError: no usable photo.
        EngineError: the decoding process can't be started.
    """
    with lent() as guard:
        wide, high = guard.answer("size", printable(name or _name(source)), _plain(source))
    return int(wide), int(high)


def taken(source: Path | bytes, name: str = "") -> str:
    """When the camera says the photo was taken: ISO date and time, '' if it does not say.

    Only the header is read.

    Raises:
        PhotoError: no usable photo.
        EngineError: the decoding process can't be started.
    """
    with lent() as guard:
        return str(guard.answer("taken", printable(name or _name(source)), _plain(source)))


def codes(source: Path | bytes, name: str = "") -> Codes:
    """The QR codes in a photo.

    Raises:
        PhotoError: no usable photo.
        EngineError: the decoding process can't be started.
    """
    with lent() as guard:
        texts, unread = guard.answer("codes", printable(name or _name(source)), _plain(source))
    return Codes(tuple(str(text) for text in texts), bool(unread))


def _name(source: Path | bytes) -> str:
    return "photo" if isinstance(source, bytes | bytearray | memoryview) else str(source)


def _plain(source: Path | bytes) -> Path | bytes:
    if isinstance(source, bytes | bytearray | memoryview):
        return bytes(source)
    return Path(source)


def _checked_box(
    box: tuple[int, int, int, int] | None, pixels: Pixels, name: str
) -> tuple[int, int, int, int] | None:
    if box is None:
        return None
    x, y, width, height = (int(value) for value in box)
    rows, cols = pixels.shape[:2]
    if width < 1 or height < 1 or x >= cols or y >= rows or x + width <= 0 or y + height <= 0:
        raise InputError(
            f"box {x},{y},{width},{height} lies outside {name} ({cols} x {rows} pixels)",
            "give x,y,width,height in pixels from the upper left corner",
        )
    return x, y, width, height
