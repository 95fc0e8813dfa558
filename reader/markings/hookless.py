"""Whether a maker allows hookless rims: HOOKLESS READY, NO HOOKLESS; on a rim what it is.

Sources: the rule of ISO 5775-1 as quoted in marks of makers' pages; an importer's rule for
'not on hookless rims'; the wording of the marks from memory.

>>> [(m.text, m.numbers["value"]) for m in find("HOOKLESS READY  NO HOOKLESS")]
[('HOOKLESS READY', 1.0), ('NO HOOKLESS', 0.0)]
"""

from __future__ import annotations

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search

NAME = "hookless"
_WORDS = (
    ("NOT FOR HOOKLESS RIMS", 0.0),
    ("NOT FOR HOOKLESS", 0.0),
    ("NOT HOOKLESS COMPATIBLE", 0.0),
    ("NOT HOOKLESS", 0.0),
    ("NON HOOKLESS", 0.0),
    ("NO HOOKLESS", 0.0),
    ("HOOKED RIMS ONLY", 0.0),
    ("HOOKED RIM ONLY", 0.0),
    ("HOOKED ONLY", 0.0),
    ("HOOKLESS COMPATIBLE", 1.0),
    ("HOOKLESS READY", 1.0),
    ("HOOKLESS OK", 1.0),
    ("HOOKLESS", 1.0),
)

NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="hookless mark",
    title="hookless",
    clean=search(NAME, _WORDS),
)
find = NOTATION.find
