"""Files and bytes in, upright RGB photos out; everything that is no usable photo is refused.

Size and kind are checked on the header, before any pixel is decoded.
"""

from __future__ import annotations

import io
import os
import stat
import warnings
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

from reader.errors import InputError, PhotoError
from reader.photo.heic import is_sound
from reader.photo.upright import upright
from reader.records import PartKind, Photo, Pixels

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PIL.Image import Image

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "HEIF")
LARGEST_PIXELS = 52_000_000  # '50-megapixel' cameras give a little more than 50 million
LONGEST_SIDE = 32_000  # OpenCV's samplers count in 16 bits
SHORTEST_SIDE = 16
LARGEST_FILE = 600 * 2**20  # 50 million pixels of 16-bit RGBA, uncompressed, are 400 MB
SUBFILE_TAG = 0x00FE

# First bytes of what people pick by mistake; TIFF-based raw files can't be told apart here.
STRANGERS = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a zip archive or an office document"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML file"),
    (b"<!DOCTYPE", "a web page"),
    (b"<html", "a web page"),
    (b"\x1a\x45\xdf\xa3", "a video"),
    (b"fLaC", "a sound file"),
    (b"ID3", "a sound file"),
)
AGAIN = "copy it again from the phone or camera, or take it again"
SMALLER = "save a smaller copy, at most 50 megapixels"
SAVE_AS = "save it as JPEG, PNG, WebP, TIFF or HEIC and try again"


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
            damaged, more than `LARGEST_PIXELS`, or too small to hold a marking.
        InputError: the box lies outside the photo.
    """
    if isinstance(source, bytes | bytearray | memoryview):
        name = name or "photo"
        with io.BytesIO(source) as stream:
            pixels = _decode(stream, _printable(name), len(source))
    else:
        name = name or str(source)
        with _open_file(Path(source), _printable(name)) as stream:
            pixels = _decode(stream, _printable(name), os.fstat(stream.fileno()).st_size)
    return Photo(name, pixels, part, _checked_box(box, pixels, _printable(name)))


def _printable(name: str) -> str:
    """The name fit for a one-line message."""
    name = name if name.isprintable() else ascii(name)
    return name if len(name) <= 200 else f"{name[:60]}…{name[-100:]}"


def _open_file(path: Path, name: str) -> IO[bytes]:
    """The file opened for reading; pipes and devices are refused before they could block."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise PhotoError(
                f"{name} is a folder", "name the photos in it, or use the bulk command"
            )
        if not stat.S_ISREG(mode):
            raise PhotoError(f"{name} is a device or a pipe", "save the photo as a file first")
        return path.open("rb")
    except FileNotFoundError as error:
        raise PhotoError(f"{name} does not exist", "check the spelling and the folder") from error
    except PermissionError as error:
        raise PhotoError(f"{name} may not be read", "change its permissions or copy it") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise PhotoError(f"{name} can't be opened ({reason})", "check the path") from error


def _decode(stream: IO[bytes], name: str, size: int) -> Pixels:
    _refuse_by_head(stream, name, size)
    try:
        with _quiet(), _open_image(stream) as image:
            _refuse_by_header(image, name)
            image.load()
            _refuse_size(image.size, name)  # some decoders find another size than the header's
            return upright(image)
    except PhotoError:
        raise
    except Exception as error:  # decoders raise nearly anything on damaged files
        raise _explained(error, name) from error


@contextmanager
def _quiet() -> Iterator[None]:
    """No warnings: sizes are checked here, and flawed metadata does not matter."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _open_image(stream: IO[bytes]) -> Image:
    import pi_heif
    from PIL import Image

    pi_heif.register_heif_opener()
    return Image.open(stream, formats=FORMATS)


def _refuse_by_head(stream: IO[bytes], name: str, size: int) -> None:
    if size == 0:
        raise PhotoError(f"{name} is empty", "copy or take the photo again")
    if size > LARGEST_FILE:
        raise PhotoError(f"{name} has {size / 2**20:.0f} MB, too much for a photo", SAVE_AS)
    head = stream.read(64)
    stream.seek(0)
    for magic, kind in STRANGERS:
        if head.lstrip(b"\xef\xbb\xbf \r\n\t")[: len(magic)].lower() == magic.lower():
            raise PhotoError(f"{name} is {kind}", SAVE_AS)
    if head[4:8] == b"ftyp" and head[8:12] in (b"avif", b"avis"):
        raise PhotoError(f"{name} is an AVIF picture", SAVE_AS)
    if head[4:8] == b"ftyp" and head[8:11] in (b"iso", b"mp4", b"qt ", b"M4V", b"3gp", b"avc"):
        raise PhotoError(f"{name} is a video", "take a still photo of the marking")
    if head[4:8] == b"ftyp" and not is_sound(stream, size):
        raise PhotoError(f"{name} is cut off or damaged", AGAIN)


def _refuse_by_header(image: Image, name: str) -> None:
    _refuse_size(image.size, name)
    # A phone's HEIC or multi-picture JPEG holds its main picture first, with maps or a burst after.
    if image.format in ("PNG", "WEBP") and getattr(image, "is_animated", False):
        raise PhotoError(f"{name} is animated", "save the one picture that shows the marking")
    if image.format == "TIFF" and _has_second_page(image):
        raise PhotoError(f"{name} has several pages", "save the page with the marking on its own")


def _refuse_size(size: tuple[int, int], name: str) -> None:
    width, height = size
    what = f"{name} has {width} x {height} pixels"
    if width * height > LARGEST_PIXELS or max(size) > LONGEST_SIDE:
        raise PhotoError(f"{what}, too many", SMALLER)
    if min(size) < SHORTEST_SIDE:
        raise PhotoError(f"{what}, too few to show a marking", "take a larger photo")


def _has_second_page(image: Image) -> bool:
    """Whether a TIFF has another full page; a reduced copy of the first does not count."""
    try:
        image.seek(1)
        reduced = int(getattr(image, "tag_v2", {}).get(SUBFILE_TAG, 0)) & 1
    except (EOFError, KeyError, OSError, SyntaxError, TypeError, ValueError):
        reduced = 1
    image.seek(0)
    return not reduced


def _explained(error: Exception, name: str) -> PhotoError:
    """The user's words for what a decoder said."""
    from PIL import Image, UnidentifiedImageError

    if isinstance(error, Image.DecompressionBombError):
        return PhotoError(
            f"{name} has too many pixels", "save a smaller copy, at most 50 megapixels"
        )
    if isinstance(error, UnidentifiedImageError):
        return PhotoError(f"{name} is not a picture that can be read, or it is damaged", SAVE_AS)
    if isinstance(error, MemoryError):
        return PhotoError(f"{name} needs more memory than there is", "save a smaller copy")
    return PhotoError(f"{name} is cut off or damaged", AGAIN)


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
