"""Numbers as printed in inch sizes: diameters such as 12 1/2 and 27.5, widths such as 1 3/8."""

from __future__ import annotations

import re
from functools import lru_cache

from reader.markings.known import names
from reader.markings.letters import SIGN_LOST
from reader.text.confusables import ALIKE

DIAMETER = r"(\d{1,2}(?:\s?[-.]?\s?1/2|[.,]5(?!\d))?)"
"""Regular expression of a diameter, one group."""

FRACTION = r"((?:[1-3](?:\s?[-.]\s?|\s{0,2}))?(?:1[135]|[1-9])/(?:16|[248]))"
"""Regular expression of a width with a fraction, one group: 1 3/8, 1-3/8, 1.3/8, 13/8, 7/8."""

_PARTS = re.compile(r"(?:([1-3])[\s.-]*)?(\d{1,2})/(\d{1,2})")


def diameter(text: str) -> str:
    """The one spelling of a printed diameter that the tables use.

    >>> diameter("121/2"), diameter("12-1/2"), diameter("12,5"), diameter("27,5"), diameter("26")
    ('12 1/2', '12 1/2', '12 1/2', '27.5', '26')
    """
    whole = text[:2] if text[:2].isdigit() else text[:1]
    rest = text[len(whole) :].strip()
    if not rest:
        return whole
    return f"{whole}.5" if whole == "27" else f"{whole} 1/2"


def fraction(text: str) -> str | None:
    """The one spelling of a width with a fraction; None if it makes no sense.

    >>> fraction("13/8"), fraction("1-3/8"), fraction("2 1/4"), fraction("7/8"), fraction("9/8")
    ('1 3/8', '1 3/8', '2 1/4', '7/8', None)
    """
    match = _PARTS.fullmatch(text)
    if not match or int(match[2]) >= int(match[3]) or int(match[2]) % 2 == 0:
        return None
    return f"{match[1]} {match[2]}/{match[3]}" if match[1] else f"{match[2]}/{match[3]}"


def ways(name: str) -> tuple[str, ...]:
    """The ways to part a whole number from its fraction: a space, a dash or a dot.

    >>> ways("26X1 3/8"), ways("26X2")
    (('26X1 3/8', '26X1-3/8', '26X1.3/8'), ('26X2',))
    """
    return tuple(dict.fromkeys(name.replace(" ", sign) for sign in " -."))


@lru_cache(maxsize=8)
def printed_diameters(notation: str) -> tuple[str, ...]:
    """Every diameter of a notation's names, as printed."""
    return tuple(dict.fromkeys(row.diameter for row in names(notation)))


def cross_cost(sign: str) -> float:
    """Cost of what stands where the cross should be.

    >>> cross_cost(" X "), cross_cost("K"), cross_cost(" ")
    (0.0, 2.0, 2.5)
    """
    if sign.strip() in ("X", "*"):
        return 0.0
    return ALIKE if sign.strip() else SIGN_LOST


def slash_cost(sign: str) -> float:
    """Cost of what stands where the slash of a fraction should be.

    >>> slash_cost("/"), slash_cost("1"), slash_cost("")
    (0.0, 2.0, 2.5)
    """
    if sign.strip() == "/":
        return 0.0
    return ALIKE if sign.strip() else SIGN_LOST


def gap_cost(sign: str) -> float:
    """Cost of what stands between the whole number of a width and its fraction.

    >>> gap_cost(" "), gap_cost("-"), gap_cost("~")
    (0.0, 0.0, 2.0)
    """
    return ALIKE if sign.strip() in ("~", "_") else 0.0
