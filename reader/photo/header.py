"""What a picture's first bytes and header say, before any pixel is decoded.

Only the guarded process (`guard`) calls this: a header, too, can bring a decoder down.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING

from reader.errors import PhotoError
from reader.photo.files import SAVE_AS
from reader.photo.formats import HEAD, Format, format_of, is_video, stranger
from reader.photo.heic import is_sound

if TYPE_CHECKING:
    from PIL.Image import Image

LARGEST_PIXELS = 52_000_000  # '50-megapixel' cameras give a little more than 50 million
LONGEST_SIDE = 32_000  # OpenCV's samplers count in 16 bits
SHORTEST_SIDE = 16
SUBFILE_TAG = 0x00FE
_EXIF_IFD, _TAKEN, _CHANGED = 0x8769, 0x9003, 0x0132  # EXIF 2.3 tag numbers

AGAIN = "copy it again from the phone or camera, or take it again"
SMALLER = "save a smaller copy, at most 50 megapixels"


@contextmanager
def opened(stream: IO[bytes], name: str, size: int) -> Iterator[Image]:
    """The picture with its header read and checked; trouble inside the block is explained.

    Args:
        stream: the file, at its beginning.
        name: for messages, printable.
        size: bytes.

    Raises:
        PhotoError: not a picture of a known format, animated, too many pixels or too few, damaged.
    """
    kind = _kind(stream, name, size)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # sizes are checked here; flawed metadata is no matter
            with _open_image(stream, kind) as image:
                _refuse_by_header(image, name)
                yield image
    except PhotoError:
        raise
    except Exception as error:  # decoders raise nearly anything on damaged files
        raise _explained(error, name) from error


def _kind(stream: IO[bytes], name: str, size: int) -> Format:
    head = stream.read(HEAD)
    stream.seek(0)
    if is_video(head):
        raise PhotoError(f"{name} is a video", "take a still photo of the marking")
    if other := stranger(head):
        raise PhotoError(f"{name} is {other}", SAVE_AS)
    kind = format_of(head)
    if kind is None:
        raise PhotoError(f"{name} is not a picture that can be read, or it is damaged", SAVE_AS)
    if kind.brands and not is_sound(stream, size):
        raise PhotoError(f"{name} is cut off or damaged", AGAIN)
    if kind.decoder == "WEBP":  # its decoder takes memory for the whole picture at opening
        refuse_size(_webp_size(head), name)
    return kind


def _webp_size(head: bytes) -> tuple[int, int]:
    """Width and height of a WebP (RFC 9649, 2.5 to 2.7); a middling size where they can't be told.

    >>> _webp_size(b"RIFF....WEBPVP8X" + bytes(8) + b"\\x0f\\x01\\0" + b"\\x1f\\0\\0")
    (272, 32)
    """
    chunk = head[12:16]
    if chunk == b"VP8X":
        wide, high = (int.from_bytes(head[at : at + 3], "little") + 1 for at in (24, 27))
    elif chunk == b"VP8 ":
        wide, high = (int.from_bytes(head[at : at + 2], "little") & 0x3FFF for at in (26, 28))
    elif chunk == b"VP8L":
        bits = int.from_bytes(head[21:25], "little")
        wide, high = (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    else:
        wide, high = SHORTEST_SIDE, SHORTEST_SIDE  # the decoder will say what is wrong
    return wide, high


def _open_image(stream: IO[bytes], kind: Format) -> Image:
    from PIL import Image

    if kind.decoder == "HEIF":
        import pi_heif

        pi_heif.register_heif_opener()
    return Image.open(stream, formats=(kind.decoder,))


def _refuse_by_header(image: Image, name: str) -> None:
    refuse_size(image.size, name)
    # A phone's HEIC or multi-picture JPEG holds its main picture first, with maps or a burst after.
    if image.format in ("PNG", "WEBP") and getattr(image, "is_animated", False):
        raise PhotoError(f"{name} is animated", "save the one picture that shows the marking")
    if image.format == "TIFF" and _has_second_page(image):
        raise PhotoError(f"{name} has several pages", "save the page with the marking on its own")


def refuse_size(size: tuple[int, int], name: str) -> None:
    """Refuse a picture of this width and height, if it is too large or too small.

    Raises:
        PhotoError: more than `LARGEST_PIXELS`, longer than `LONGEST_SIDE`, or too small to hold a
            marking.
    """
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
        return PhotoError(f"{name} has too many pixels", SMALLER)
    if isinstance(error, UnidentifiedImageError):
        return PhotoError(f"{name} is not a picture that can be read, or it is damaged", SAVE_AS)
    if isinstance(error, MemoryError):
        return PhotoError(f"{name} needs more memory than a photo may", SMALLER)
    return PhotoError(f"{name} is cut off or damaged", AGAIN)


def taken(image: Image) -> str:
    """When the camera says the photo was taken: ISO date and time, '' if it does not say."""
    from PIL.Image import Image as Plain

    # A PNG's own method decodes all pixels, as tags may come after them; ours come before.
    exif = Plain.getexif(image) if image.format == "PNG" else image.getexif()
    return iso(str(exif.get_ifd(_EXIF_IFD).get(_TAKEN) or exif.get(_CHANGED) or ""))


def iso(text: str) -> str:
    """EXIF's '2026:05:04 10:11:12' as ISO 8601; '' for nonsense.

    >>> iso("2026:05:04 10:11:12"), iso("0000:00:00 00:00:00")
    ('2026-05-04T10:11:12', '')
    """
    from datetime import datetime

    try:
        return datetime.strptime(text.strip("\0 "), "%Y:%m:%d %H:%M:%S").isoformat()
    except ValueError:
        return ""
