"""QR codes in a picture, for the guarded process."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from PIL.Image import Resampling

from reader.photo.unread import unread_code
from reader.records import Floats, Pixels

if TYPE_CHECKING:
    from PIL.Image import Image

QR_SIDE = 1600  # pixels of the longer side in which a part's QR code is looked for first


def codes(image: Image) -> tuple[list[str], bool]:
    """Texts of all QR codes in the picture, in no order; without any, whether one can't be read."""
    image.draft("L", (QR_SIDE, QR_SIDE))  # JPEG: decode straight to a smaller picture
    grey = image.convert("L")
    scale = QR_SIDE / max(grey.size)
    if scale >= 1:
        texts, failed = _decode(np.asarray(grey))
        return texts, not texts and unread_code(np.asarray(grey), failed)
    size = (max(1, round(grey.width * scale)), max(1, round(grey.height * scale)))
    small = np.asarray(grey.resize(size, Resampling.BOX))
    texts, failed = _decode(small)
    if not texts:
        texts, _ = _decode(np.asarray(grey))
    return texts, not texts and unread_code(small, failed)


def _decode(grey: Pixels) -> tuple[list[str], list[Floats]]:
    """Texts of the codes, and the corners of each that was found but not understood."""
    import zxingcpp

    kind: Any = zxingcpp.BarcodeFormat.QRCode
    found = zxingcpp.read_barcodes(grey, kind, return_errors=True)
    return [code.text for code in found if code.valid and code.text], [
        _corners(code.position) for code in found if not code.valid
    ]


def _corners(position: Any) -> Floats:
    corners = (
        position.top_left,
        position.top_right,
        position.bottom_right,
        position.bottom_left,
    )
    return np.array([[corner.x, corner.y] for corner in corners], np.float32)
