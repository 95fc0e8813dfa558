"""A picture of a marking in the terminal."""

from __future__ import annotations

from io import BytesIO

from rich.style import Style
from rich.text import Text

WIDEST, MOST_ROWS = 120, 16
SHADES = " ░▒▓█"  # for terminals with few colours


def strip_text(png: bytes, columns: int, colours: bool) -> Text:
    """The picture in characters, two grey pixels each, as wide as fits and at most 16 lines high.

    Args:
        png: the picture.
        columns: of the terminal.
        colours: whether it can show many greys; if not, five shades of blocks must do.
    """
    import numpy as np
    from PIL import Image, ImageOps

    width = max(8, min(WIDEST, columns - 1))
    with Image.open(BytesIO(png)) as picture:
        grey = ImageOps.autocontrast(picture.convert("L"), cutoff=1)
    height = max(2, min(2 * MOST_ROWS, round(grey.height * width / grey.width)))
    pixels = np.asarray(grey.resize((width, height + height % 2), Image.Resampling.BOX))
    text = Text(no_wrap=True)
    for upper, lower in zip(pixels[::2].tolist(), pixels[1::2].tolist(), strict=True):
        for top, bottom in zip(upper, lower, strict=True):
            if colours:
                text.append("▀", Style(color=_grey(top), bgcolor=_grey(bottom)))
            else:
                text.append(SHADES[(top + bottom) * len(SHADES) // 512])
        text.append("\n")
    return text


def _grey(value: int) -> str:
    return f"rgb({value},{value},{value})"
