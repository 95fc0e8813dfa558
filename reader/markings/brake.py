"""Which brake a rim is made for: DISC BRAKE ONLY, RIM BRAKE. From memory.

>>> [(m.text, m.numbers["value"]) for m in find("DISC BRAKE ONLY 622x23C")]
[('DISC BRAKE ONLY', 'disc')]
"""

from __future__ import annotations

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search

NAME = "brake"
_WORDS = (
    ("DISC BRAKE ONLY", "disc"),
    ("DISK BRAKE ONLY", "disc"),
    ("NOT FOR RIM BRAKES", "disc"),
    ("DISC ONLY", "disc"),
    ("DISC BRAKE", "disc"),
    ("DISK BRAKE", "disc"),
    ("RIM BRAKE ONLY", "rim"),
    ("RIM BRAKE", "rim"),
    ("V BRAKE", "rim"),
)

NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="brake mark",
    title="brake",
    clean=search(NAME, _WORDS),
    rim_text=2.5,  # judgement: discs and wear belong to rims
)
find = NOTATION.find
