"""A picture of a marking in the terminal: two grey pixels a character."""

from __future__ import annotations

from io import BytesIO

from rich.style import Style
from rich.text import Text

WIDTH, MOST_ROWS = 96, 16


def strip_text(png: bytes) -> Text:
    """The picture as coloured half blocks, at most 96 characters wide and 16 lines high."""
    import numpy as np
    from PIL import Image, ImageOps

    with Image.open(BytesIO(png)) as picture:
        grey = ImageOps.autocontrast(picture.convert("L"), cutoff=1)
    height = max(2, min(2 * MOST_ROWS, round(grey.height * WIDTH / grey.width)))
    pixels = np.asarray(grey.resize((WIDTH, height + height % 2), Image.Resampling.BOX))
    text = Text(no_wrap=True)
    for upper, lower in zip(pixels[::2], pixels[1::2], strict=True):
        for top, bottom in zip(upper.tolist(), lower.tolist(), strict=True):
            style = Style(
                color=f"rgb({top},{top},{top})", bgcolor=f"rgb({bottom},{bottom},{bottom})"
            )
            text.append("▀", style)
        text.append("\n")
    return text


def _grey(value: int) -> str:
    return f"rgb({value},{value},{value})"
