"""Is a font file fit for drawing markings: real glyphs, told apart, none a box."""

from __future__ import annotations

import string
from collections.abc import Iterable
from io import BytesIO
from itertools import combinations
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from reader.records import Pixels

MUST = string.digits + string.ascii_uppercase + "-./()x"
MAY = "×½¼¾⅛⅜⅝⅞–→°"
WANTED = "".join(chr(code) for code in range(32, 127)) + MAY
_NOT_A_LETTER = "\uffff"
_TOO_ALIKE = 0.02  # share of differing pixels in the two glyphs' common box


def faults(font: Path | bytes, covered: Iterable[int]) -> list[str]:
    """Reasons not to use a font (none: it is fit); `covered` are the code points it maps.

    Digits must differ from each other, and every needed letter must leave ink and differ from the
    box that the font draws for what it lacks.
    """
    have = set(covered)
    lacking = [letter for letter in MUST if ord(letter) not in have]
    if lacking:
        return ["lacks " + "".join(lacking)]
    try:
        drawn = {letter: glyph(font, letter) for letter in MUST + _NOT_A_LETTER}
    except (OSError, ValueError, SyntaxError) as trouble:
        return [f"can't be drawn ({trouble})"]
    box = drawn.pop(_NOT_A_LETTER)
    found = [f"{letter} is empty" for letter, ink in drawn.items() if not ink.any()]
    if box.any():
        found += [f"{letter} is a box" for letter, ink in drawn.items() if alike(ink, box)]
    for one, other in combinations(string.digits, 2):
        if alike(drawn[one], drawn[other]):
            found.append(f"{one} looks like {other}")
    return found


def lacks(covered: Iterable[int]) -> str:
    """The useful letters beyond ASCII that a font does not have."""
    have = set(covered)
    return "".join(letter for letter in MAY if ord(letter) not in have)


def glyph(font: Path | bytes, letter: str, size: int = 40) -> Pixels:
    """One letter, white on black, uint8, 2·size square, on the font's own baseline.

    Raises:
        OSError: Pillow can't open the font.
    """
    face = ImageFont.truetype(BytesIO(font) if isinstance(font, bytes) else str(font), size)
    picture = Image.new("L", (2 * size, 2 * size))
    ImageDraw.Draw(picture).text((size // 2, 3 * size // 2), letter, 255, face, anchor="ls")
    return np.asarray(picture)


def alike(one: Pixels, other: Pixels) -> bool:
    """Whether two glyph pictures differ in hardly a pixel of the box that holds both."""
    rows, columns = np.nonzero(one | other)
    if not len(rows):
        return True
    box = np.s_[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    apart = np.abs(one[box].astype(int) - other[box]) > 127
    return float(apart.mean()) < _TOO_ALIKE
