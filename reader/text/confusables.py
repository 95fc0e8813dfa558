"""Signs that look alike, once: what each may be taken for, and how far their shapes differ.

The distance is the natural-log cost of the other sign where letter probabilities are known, which
tell the rest (judgement; the order follows how engines err). Where only a text is known, a sign of
a like shape costs ALIKE, one of a remoter shape UNLIKELY_ALIKE.
"""

from __future__ import annotations

import re

ALIKE = 2.0  # a sign that looks like the right one: O for 0, S for 5, ~ for -
UNLIKELY_ALIKE = 3.0  # one that does so in some letter shapes only: E for 3, 7 for /
LIKE = 2.0  # distance up to which shapes are like
REMOTE = 3.0  # distance of shapes that an engine's probabilities never bridge

LOOKS_LIKE: dict[str, dict[str, float]] = {
    "0": {"O": 0.3, "D": 1.5, "Q": 1.5} | dict.fromkeys("CUG&%", REMOTE),
    "1": {"I": 0.3, "|": 0.3, "!": 1.0, "L": 1.5} | dict.fromkeys("JT/][", REMOTE),
    "2": {"Z": 0.7},
    "3": dict.fromkeys("EB", REMOTE),
    "4": {"A": 2.0, "H": REMOTE},
    "5": {"S": 0.5},
    "6": {"G": 1.5} | dict.fromkeys("BC", REMOTE),
    "7": {"T": 2.0} | dict.fromkeys("Y/", REMOTE),
    "8": {"B": 1.0, "S": 2.5} | dict.fromkeys("&%R", REMOTE),
    "9": {"G": 2.5} | dict.fromkeys("QP", REMOTE),
    "A": {"4": 2.0},
    "B": {"8": 1.0},
    "C": {"G": 1.5, "(": 1.5, "O": 1.5, "0": 2.0},
    "D": {"O": 1.5, "0": 1.5},
    "/": {"I": 1.5, "|": 1.5, "1": 2.0},
}
"""For each sign that is meant: the signs that may be seen instead, and how far their shapes are."""


def alike(meant: str) -> dict[str, float]:
    """The signs that may be seen where one was meant, and what each costs in a text.

    >>> alike("2"), alike("8")["B"], alike("8")["R"]
    ({'Z': 2.0}, 2.0, 3.0)
    """
    shapes = LOOKS_LIKE.get(meant, {})
    return {
        seen: ALIKE if distance <= LIKE else UNLIKELY_ALIKE for seen, distance in shapes.items()
    }


def shapes(meant: str) -> dict[str, float]:
    """The signs that letter probabilities may lie on instead, and how far their shapes are."""
    return {seen: far for seen, far in LOOKS_LIKE.get(meant, {}).items() if far < REMOTE}


# Letters of a word are seen as digits as easily as the other way round.
_IN_WORDS = {"O": "0Q", "I": "1L", "L": "1I", "S": "5", "B": "8", "Z": "2", "G": "6", "D": "0"}


def wordlike(words: str) -> str:
    """Regular expression of a word or words as engines see them: TUBE1E55, spaces lost.

    >>> bool(re.fullmatch(wordlike("TUBELESS READY"), "TUBE1ES5READY"))
    True
    """
    signs = (
        f"[{sign}{_IN_WORDS[sign]}]" if sign in _IN_WORDS else re.escape(sign) for sign in words
    )
    return "".join(signs).replace(r"\ ", r"[\s-]?")
