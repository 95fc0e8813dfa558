"""The one list of picture formats: which are read, how their files begin and end, what is refused.

What a file is, its first bytes say; its name counts only for picking pictures out of a folder.
Signatures: ISO/IEC 10918-1 (JPEG), ISO/IEC 15948 (PNG), RFC 9649 (WebP), TIFF 6.0, and for HEIC
the brands of ISO/IEC 23008-12, annex B.
"""

from __future__ import annotations

from dataclasses import dataclass

HEAD = 64  # bytes of a file that tell its kind


@dataclass(frozen=True)
class Format:
    """A kind of picture that can be read."""

    name: str  # for people
    decoder: str  # what Pillow calls it
    suffixes: tuple[str, ...]
    starts: tuple[bytes, ...] = ()  # the file's first bytes, one of these
    inner: bytes = b""  # bytes 8 to 12, where the first ones don't settle it
    brands: tuple[bytes, ...] = ()  # bytes 8 to 12 after 'ftyp'

    def owns(self, head: bytes) -> bool:
        """Whether a file with these first bytes is of this kind."""
        if self.brands:
            return head[4:8] == b"ftyp" and head[8:12] in self.brands
        return head.startswith(self.starts) and head[8:12].startswith(self.inner)


FORMATS = (
    Format("JPEG", "JPEG", (".jpg", ".jpeg", ".jpe"), (b"\xff\xd8\xff",)),
    Format("PNG", "PNG", (".png",), (b"\x89PNG\r\n\x1a\n",)),
    Format("WebP", "WEBP", (".webp",), (b"RIFF",), inner=b"WEBP"),
    Format("TIFF", "TIFF", (".tif", ".tiff"), (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")),
    Format(
        "HEIC",
        "HEIF",
        (".heic", ".heif", ".hif"),
        brands=(
            *(b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"),
            *(b"mif1", b"msf1"),
        ),
    ),
)

# First bytes of what people pick by mistake; TIFF-based raw files can't be told apart here.
STRANGERS = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"%!PS", "a PostScript drawing"),
    (b"\xc5\xd0\xd3\xc6", "a PostScript drawing"),
    (b"\xff\x0a", "a JPEG XL picture"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture"),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture"),
    (b"8BPS", "a layered drawing"),
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
VIDEO_BRANDS = (b"iso", b"mp4", b"qt ", b"M4V", b"3gp", b"3g2", b"avc", b"mmp", b"MSN", b"dby")
CLIP_SUFFIXES = frozenset((".mp4", ".m4v", ".mov", ".webm", ".3gp"))
_EBML = b"\x1a\x45\xdf\xa3"  # begins a WebM file, RFC 8794
_MOVING = 2  # bit of an extended WebP's flags, RFC 9649

_OTHER_PICTURES = (".avif", ".bmp", ".gif", ".jxl")  # picked from a folder only to be named
SUFFIXES = frozenset([s for kind in FORMATS for s in kind.suffixes] + list(_OTHER_PICTURES))
NAMES = ", ".join(kind.name for kind in FORMATS[:-1]) + f" or {FORMATS[-1].name}"


def format_of(head: bytes) -> Format | None:
    """The format of a file with these first bytes, at least 12 of them; None for all others.

    >>> format_of(b"II*" + bytes(9)).name
    'TIFF'
    """
    return next((kind for kind in FORMATS if kind.owns(head)), None)


def is_video(head: bytes) -> bool:
    """Whether a file with these first bytes is a film: MP4, MOV or WebM."""
    if head.startswith(_EBML) or head[4:8] in (b"moov", b"wide", b"mdat"):
        return True
    return head[4:8] == b"ftyp" and head[8:11] in VIDEO_BRANDS


def is_animated(head: bytes) -> bool:
    """Whether it is an animated WebP, or HEIC files' kind that holds a sequence."""
    if head[:4] == b"RIFF" and head[8:16] == b"WEBPVP8X":
        return len(head) > 20 and bool(head[20] & _MOVING)
    return head[4:8] == b"ftyp" and head[8:12] in (b"hevc", b"hevx", b"msf1")


def stranger(head: bytes) -> str:
    """What a file with these first bytes is, if it is something that people pick by mistake."""
    if head[4:8] == b"ftyp" and (head[8:12] in (b"avif", b"avis") or _holds_avif(head)):
        return "an AVIF picture"
    text = head.lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    return next((kind for magic, kind in STRANGERS if text.startswith(magic.lower())), "")


def _holds_avif(head: bytes) -> bool:
    """Whether a file of the general brand names AVIF, and not HEIC, among its further brands."""
    further = head[16 : min(len(head), int.from_bytes(head[:4], "big"))]
    return b"avif" in further and b"heic" not in further
