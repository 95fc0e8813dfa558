"""One spelling for the same sign: every dash a dash, every times sign an X, fractions in full."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

SAME = {
    "X": "×✕✖✗╳хХ⨯",  # two of them are the Cyrillic letter
    "-": "‐‑‒–—―−－ー一～",
    '"': "″“”„",
    "'": "′’‘`",
    "/": "⁄∕",
    "(": "[{",
    ")": "]}",
    " ": "•\t\n\r\v\f\u00a0\u2009\u202f",
    ".": "·",
}
"""For each sign the others that are written for the same purpose."""

_FOLD = {ord(c): sign for sign, same in SAME.items() for c in same}
_NEEDS_FOLD = re.compile(r"[^ -Z^-z|~]")
_RAISED = re.compile(r"(?<=[0-9])(?=[⁰¹²³⁴-⁹½⅓⅔¼¾⅛⅜⅝⅞])")


@lru_cache(maxsize=256)
def spell(char: str) -> str:
    """One character in plain signs: '½' is '1/2', '³' is '3'; a space where there are none."""
    if char in _DASHES:
        return "-"
    plain = unicodedata.normalize("NFKC", char).translate(_FOLD).upper()
    return plain if plain.isascii() and plain else " "


_DASHES = frozenset(SAME["-"])


def fold(text: str) -> tuple[str, Sequence[int] | None]:
    """Write a text in upper case with one sign for each purpose, fractions spelled out.

    Returns:
        The folded text, and for each of its characters (and its end) the position in `text`;
        `None` where the positions are the same.

    >>> fold("26×1⅜")[0], fold("26×1³⁄₈")[0]
    ('26X1 3/8', '26X1 3/8')
    """
    if not _NEEDS_FOLD.search(text):
        return text.upper(), None
    raised = {match.start() for match in _RAISED.finditer(text)}
    out: list[str] = []
    back: list[int] = []
    for i, char in enumerate(text):
        spelled = char.upper() if char.isascii() and char not in "\t\n\r[]{}" else spell(char)
        if i in raised:
            spelled = " " + spelled
        out.append(spelled)
        back.extend([i] * len(spelled))
    return "".join(out), [*back, len(text)]
