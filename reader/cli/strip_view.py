"""A picture of a marking in the terminal."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from rich.style import Style
from rich.text import Text

if TYPE_CHECKING:
    from PIL.Image import Image

WIDEST, MOST_ROWS = 160, 16
LEGIBLE = 16  # pixels that letters need
SHADES = " ░▒▓█"  # for terminals with few colours


def strip_text(png: bytes, columns: int, colours: bool) -> Text:
    """The picture in characters, two grey pixels each, as wide as fits and at most 16 lines high.

    A long one goes on below, so that its letters stay legible; a little of it stands in both lines.

    Args:
        png: the picture.
        columns: of the terminal.
        colours: whether it can show many greys; if not, five shades of blocks must do.
    """
    from PIL import Image as Pictures
    from PIL import ImageOps

    width = max(8, min(WIDEST, columns - 1))
    with Pictures.open(BytesIO(png)) as picture:
        grey = ImageOps.autocontrast(picture.convert("L"), cutoff=1)
    text = Text(no_wrap=True)
    for piece in _pieces(grey, width):
        height = max(2, min(2 * MOST_ROWS, round(piece.height * width / piece.width)))
        size = (width, height + height % 2)
        _draw(text, piece.resize(size, Pictures.Resampling.BOX), colours)
    return text


def _pieces(grey: Image, width: int) -> list[Image]:
    """As few pieces side by side as make each `LEGIBLE` pixels high at this width, up to three."""
    most = round(grey.height * width / LEGIBLE)  # columns of the picture in a piece
    count = min(3, max(1, round(grey.width / most)))
    shared = grey.height // 2 if count > 1 else 0
    long = (grey.width - shared) // count
    return [grey.crop((n * long, 0, (n + 1) * long + shared, grey.height)) for n in range(count)]


def _draw(text: Text, picture: Image, colours: bool) -> None:
    import numpy as np

    pixels = np.asarray(picture)
    for upper, lower in zip(pixels[::2].tolist(), pixels[1::2].tolist(), strict=True):
        for top, bottom in zip(upper, lower, strict=True):
            if colours:
                text.append("▀", Style(color=_grey(top), bgcolor=_grey(bottom)))
            else:
                text.append(SHADES[(top + bottom) * len(SHADES) // 512])
        text.append("\n")


def _grey(value: int) -> str:
    return f"rgb({value},{value},{value})"
