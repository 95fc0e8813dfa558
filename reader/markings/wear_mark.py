"""Brake wear mark of a rim: WEAR INDICATOR, WEAR LIMIT, SAFETY LINE.

Source: a spoke maker's pages on rims (wear line, dot or cavity); the wording from memory.

>>> [m.text for m in find("SAFETY LINE  WEAR INDICATOR")]
['SAFETY LINE', 'WEAR INDICATOR']
"""

from __future__ import annotations

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search

NAME = "wear_mark"
_WORDS = (
    ("RIM WEAR INDICATOR", 1.0),
    ("WEAR INDICATOR", 1.0),
    ("WEAR LIMIT", 1.0),
    ("WEAR LINE", 1.0),
    ("SAFETY LINE", 1.0),
)

NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="wear mark",
    title="wear mark",
    clean=search(NAME, _WORDS),
    rim_text=2.0,
)
find = NOTATION.find
