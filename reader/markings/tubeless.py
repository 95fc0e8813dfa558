"""Tubeless marks: TUBELESS READY, TLR, UST; NOT TUBELESS, TUBE TYPE. Says nothing of hookless.

Sources: TL, TLE, TLR in a maker's technical pages; the other forms from memory.

>>> [(m.text, m.numbers["value"]) for m in find("TUBELESS READY  TUBE TYPE")]
[('TUBELESS READY', 1.0), ('TUBE TYPE', 0.0)]
"""

from __future__ import annotations

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search

NAME = "tubeless"
_WORDS = (
    ("NOT TUBELESS", 0.0),
    ("NON TUBELESS", 0.0),
    ("TUBE TYPE", 0.0),
    ("TUBELESS READY", 1.0),
    ("TUBELESS EASY", 1.0),
    ("TUBELESS COMPATIBLE", 1.0),
    ("TUBELESS COMPLETE", 1.0),
    ("TUBELESS", 1.0),
    ("TLR", 1.0),
    ("TLE", 1.0),
    ("UST", 1.0),
)

NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="tubeless mark",
    title="tubeless",
    clean=search(NAME, _WORDS),
)
find = NOTATION.find
