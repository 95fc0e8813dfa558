"""Sizes that are called by a word or a trade code: 29er, 27.5+, 26 W/O, E.A.3; and what is none.

>>> from reader.tables import load_tables
>>> [(w, called(w, load_tables(), "world").meanings[0].size.bsd) for w in ("29er", "EA3", "26 HE")]
[('29er', 622), ('EA3', 590), ('26 HE', 559)]
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from reader.errors import InputError
from reader.markings import BY_NAME, parse_text
from reader.markings.edges import mask
from reader.markings.notation import Kind
from reader.names.meaning import Meaning
from reader.names.meanings import coded
from reader.tables import Tables

_PROFILE = re.compile(r"S-?\d")
_BESIDE = re.compile(
    r"(?P<inch>\d{2})\s*(?:\"|inch|in)?\s+(?P<code>\S.*)|(?P<code2>\S.*?)\s+(?P<inch2>\d{2})\s*(?:\"|inch|in)?",
    re.IGNORECASE,
)
_TUBULAR = re.compile(r"\b(?:tubular|tub|sew-?up|schlauchreifen|boyau)s?\b", re.IGNORECASE)
_OF = "look for another text on the part; this one reads like that of a"
_WRITTEN = ((re.compile(r"\s*\bplus\b", re.IGNORECASE), "+"), (re.compile(r"\s*bike$", re.I), ""))


class Called(NamedTuple):
    """What a word means, and the maker's rim profile that it is, if it is one."""

    meanings: tuple[Meaning, ...]
    profile: str


def called(text: str, tables: Tables, market: str) -> Called | None:
    """What a word or code means; None if the text is neither.

    A maker's rim profile (S-6) leaves the diameter open unless it stands beside it ('26 S-6').

    Raises:
        InputError: it names a tubular tyre, which has no bead seat.
    """
    if _TUBULAR.search(text):
        raise InputError(
            f"'{text[:60]}' is glued on and has no bead seat",
            "27 inch, 28 inch and 700C tubulars share one rim, 26 inch and 650C ones a smaller",
        )
    for pattern, sign in _WRITTEN:
        text = pattern.sub(sign, text)
    found = coded(text, tables, market)
    if found:
        profile = text.upper() if _PROFILE.fullmatch(text.upper()) else ""
        if profile:  # stamped on rims
            found = tuple(replace(one, part="rim") for one in found)
        return Called(found, profile)
    beside = _BESIDE.fullmatch(text)
    if beside:
        code, inch = beside["code"] or beside["code2"], beside["inch"] or beside["inch2"]
        found = coded(code, tables, market, inch)
        if found:
            return Called(found, "")
    return None


def refuse_foreign(text: str) -> None:
    """Raise InputError where the text is the mark of something that is no bicycle part."""
    for one in parse_text(text):
        if BY_NAME[one.notation].kind is Kind.OTHER:
            raise InputError(f"'{text[:60]}' is no bicycle size", f"{_OF} {one.numbers['value']}")
    upper = "".join(char.upper() if char.isascii() else char for char in text)
    if any(char.isdigit() for char in upper) and not any(map(str.isdigit, mask(upper))):
        raise InputError(f"'{text[:60]}' is no bicycle size", f"{_OF} phone or article number")
