"""Letters: one spelling for the same sign, and what damage to a letter costs.

Costs are natural-log penalties: roughly, how many times less often a maker's mark is seen damaged
in this way than whole. They are tuned by hand (common practice, no source); only their order
matters, as the resolver weighs them against everything else that was read.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TypeVar

Reading = TypeVar("Reading")

ALIKE = 2.0  # a sign that looks like the right one: O for 0, S for 5, ~ for -
UNLIKELY_ALIKE = 3.0  # one that does so in some letter shapes only: E for 3, 7 for /
SPACE_ADDED = 1.5  # a space inside a number
SPACE_LOST = 2.5  # two markings run together: 37-59026X1 3/8
SIGN_LOST = 2.5  # a dash, cross, point or slash that is gone
DIGIT_CONFUSED = 4.0  # another digit, of a similar shape: 6 for 8
DIGIT_WRONG = 5.0  # any other digit, or a mark that nobody could read: ?
DIGIT_LOST = 6.0  # nothing where a digit should be
BUDGET = 6.5  # dearer readings are not worth telling

_LETTERS_FOR = {
    "0": ("ODQ", "CUG&%"),
    "1": ("IL|!", "JT/]["),
    "2": ("Z", ""),
    "3": ("", "EB"),
    "4": ("A", "H"),
    "5": ("S", ""),
    "6": ("G", "BC"),
    "7": ("T", "Y/"),
    "8": ("B", "&%SR"),
    "9": ("", "GQP"),
}
_SIMILAR_DIGITS = "06 08 09 17 14 27 35 38 39 49 56 58 59 68 69 89"

_COST: dict[tuple[str, str], float] = {
    **{(two[0], two[1]): DIGIT_CONFUSED for two in _SIMILAR_DIGITS.split()},
    **{(two[1], two[0]): DIGIT_CONFUSED for two in _SIMILAR_DIGITS.split()},
    **{(c, d): UNLIKELY_ALIKE for d, (_, rare) in _LETTERS_FOR.items() for c in rare},
    **{(c, d): ALIKE for d, (often, _) in _LETTERS_FOR.items() for c in often},
    **{(c, "/"): ALIKE for c in "1I|"},
}

DIGIT = "[0-9" + re.escape("".join(sorted({c for c, _ in _COST if not c.isdigit()} - {"/"}))) + "?]"
"""Regular expression of one sign that may stand for a digit."""

CROSS = r"\s?[X*]\s?"
"""Regular expression of the sign between the numbers of a size."""

_SAME = {
    "X": "×✕✖хХ⨯",  # two of them are the Cyrillic letter
    "-": "‐‑‒–—―−",
    '"': "″“”„",
    "'": "′’‘`",
    "/": "⁄∕",
    "(": "[{",
    ")": "]}",
    " ": "•\t\n\r\v\f\u00a0\u2009\u202f",
    ".": "·",
}
_FOLD = {ord(c): sign for sign, same in _SAME.items() for c in same}
_NEEDS_FOLD = re.compile(r"[^ -Z^-z|~]")
_RAISED = re.compile(r"(?<=[0-9])(?=[⁰¹²³⁴-⁹½⅓⅔¼¾⅛⅜⅝⅞])")


@lru_cache(maxsize=256)
def _spell(char: str) -> str:
    """One character in plain signs: '½' is '1/2', '³' is '3'."""
    plain = unicodedata.normalize("NFKC", char).translate(_FOLD).upper()
    return plain if plain.isascii() and plain else " "


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
        spelled = char.upper() if char.isascii() and char not in "\t\n\r[]{}" else _spell(char)
        if i in raised:
            spelled = " " + spelled
        out.append(spelled)
        back.extend([i] * len(spelled))
    return "".join(out), [*back, len(text)]


def damage(seen: str, meant: str) -> float:
    """Cost of seeing one text where another of the same length was meant.

    >>> damage("5O7", "507"), damage("567", "507")
    (2.0, 4.0)
    """
    cost = 0.0
    for a, b in zip(seen, meant, strict=True):
        if a != b:
            cost += _COST.get((a, b), DIGIT_WRONG)
    return cost


def meant(seen: str, options: Iterable[str], budget: float = BUDGET) -> dict[str, float]:
    """The options that a damaged text can stand for, with their costs.

    At most one sign may be wrong or lost, others may look alike.

    >>> meant("5O7", ["507", "547", "622"])
    {'507': 2.0, '547': 5.0}
    >>> meant("67", ["507", "607"])
    {'607': 6.0}
    """
    found: dict[str, float] = {}
    for option in options:
        if len(option) == len(seen):
            cost = damage(seen, option)
        elif len(option) == len(seen) + 1:
            cost = DIGIT_LOST + min(
                damage(seen, option[:i] + option[i + 1 :]) for i in range(len(option))
            )
        else:
            continue
        if cost <= budget:
            found[option] = cost
    return found


def pinned(
    found: Mapping[Reading, float], most: int = 4, margin: float = 1.5
) -> dict[Reading, float]:
    """The best of several possible readings, if few enough; each bears the doubt between them.

    Readings dearer than the best by more than `margin` are left out. With more than `most` left
    the damage says nothing, and the result is empty.

    >>> pinned({"507": 5.0, "547": 5.0, "622": 9.0})
    {'507': 5.69, '547': 5.69}
    """
    if not found:
        return {}
    bound = min(found.values()) + margin
    best = {text: cost for text, cost in found.items() if cost <= bound}
    if len(best) > most:
        return {}
    return {text: round(cost + _LOG[len(best)], 2) for text, cost in best.items()}


_LOG = (0.0, 0.0, 0.69, 1.1, 1.39, 1.61, 1.79, 1.95, 2.08)  # natural logarithms of 1 to 8
