"""Looking at a file without reading the marking: content hash, camera time, QR code."""

from __future__ import annotations

from hashlib import blake2b
from pathlib import Path

from reader.catalogue.db.records import PhotoRef
from reader.errors import PhotoError

_PLAIN = (".jpg", ".jpeg", ".jpe", ".png", ".webp", ".tif", ".tiff", ".bmp")
SUFFIXES = frozenset(_PLAIN + (".heic", ".heif", ".avif"))
_EXIF_IFD, _TAKEN, _CHANGED = 0x8769, 0x9003, 0x0132  # EXIF 2.3 tag numbers
CHUNK = 1 << 20
QR_SIDE = 1600  # pixels of the longer side in which a part's QR code is looked for first


def digest(path: Path) -> str:
    """BLAKE2b (160 bits, hex) of a file's bytes.

    Raises:
        OSError: it can't be read.
    """
    state = blake2b(digest_size=20)
    with path.open("rb") as file:
        while block := file.read(CHUNK):
            state.update(block)
    return state.hexdigest()


def photo_ref(path: Path) -> PhotoRef:
    """A file as the catalogue knows photos.

    Raises:
        PhotoError: it can't be opened.
    """
    try:
        return PhotoRef(digest(path), str(path.absolute()), path.name, taken(path))
    except OSError as error:
        message = f"{path} can't be read ({error.strerror})"
        raise PhotoError(message, "check the file and your right to read it") from error


def taken(path: Path) -> str:
    """When the camera says the photo was taken: ISO date and time, '' if it does not say."""
    from pi_heif import register_heif_opener
    from PIL import Image, UnidentifiedImageError

    register_heif_opener()
    try:
        with Image.open(path) as picture:
            exif = picture.getexif()
            text = exif.get_ifd(_EXIF_IFD).get(_TAKEN) or exif.get(_CHANGED) or ""
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError, Image.DecompressionBombError):
        return ""
    return _iso(str(text))


def _iso(text: str) -> str:
    """EXIF's '2026:05:04 10:11:12' as ISO 8601; '' for nonsense.

    >>> _iso("2026:05:04 10:11:12"), _iso("0000:00:00 00:00:00")
    ('2026-05-04T10:11:12', '')
    """
    from datetime import datetime

    try:
        return datetime.strptime(text.strip("\0 "), "%Y:%m:%d %H:%M:%S").isoformat()
    except ValueError:
        return ""


def qr_texts(path: Path) -> list[str]:
    """Texts of all QR codes in a photo, in no order; none if it can't be opened."""
    import cv2
    import numpy as np
    from pi_heif import register_heif_opener
    from PIL import Image, UnidentifiedImageError

    register_heif_opener()
    try:
        with Image.open(path) as picture:
            picture.draft("L", (QR_SIDE, QR_SIDE))  # JPEG: decode straight to a smaller picture
            grey = np.asarray(picture.convert("L"))
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError, Image.DecompressionBombError):
        return []
    scale = QR_SIDE / max(grey.shape)
    if scale < 1:
        small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        found = _decode(np.asarray(small, dtype=np.uint8))
        if found:
            return found
    return _decode(np.ascontiguousarray(grey, dtype=np.uint8))


def _decode(grey: object) -> list[str]:
    import zxingcpp

    codes = zxingcpp.read_barcodes(grey, zxingcpp.BarcodeFormat.QRCode)  # type: ignore[arg-type]
    return [code.text for code in codes if code.text]
