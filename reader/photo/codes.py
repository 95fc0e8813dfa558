"""QR codes in a picture, for the guarded process."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from PIL.Image import Image

QR_SIDE = 1600  # pixels of the longer side in which a part's QR code is looked for first


def qr_texts(image: Image) -> list[str]:
    """Texts of all QR codes in the picture, in no order."""
    from PIL.Image import Resampling

    image.draft("L", (QR_SIDE, QR_SIDE))  # JPEG: decode straight to a smaller picture
    grey = image.convert("L")
    scale = QR_SIDE / max(grey.size)
    if scale < 1:
        size = (max(1, round(grey.width * scale)), max(1, round(grey.height * scale)))
        found = _decode(np.asarray(grey.resize(size, Resampling.BOX)))
        if found:
            return found
    return _decode(np.asarray(grey))


def _decode(grey: object) -> list[str]:
    import zxingcpp

    codes = zxingcpp.read_barcodes(grey, zxingcpp.BarcodeFormat.QRCode)  # type: ignore[arg-type]
    return [code.text for code in codes if code.text]
