"""Parts of wheelchairs, prams, barrows and garden machines, as far as they say so themselves.

Sources: wheelchair sizes are the trade's names for bead seats that bicycles share (wheelchair
parts lists), so that only the word tells; 'x … - 203' and like forms of prams, 4.00-8 of barrows
and 20X4.00-10 of garden machines: from memory.

>>> [(m.text, m.numbers["value"]) for m in find("24 x 1 WHEELCHAIR")]
[('WHEELCHAIR', 'wheelchair')]
>>> [(m.text, m.numbers["value"]) for m in find("4.00-8  280 x 65-203")]
[('4.00-8', 'barrow or small machine'), ('280 x 65-203', 'pram')]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search, together
from reader.records import Marking

NAME = "small_wheel"
_WORDS = (
    ("WHEELCHAIR", "wheelchair"),
    ("WHEEL CHAIR", "wheelchair"),
    ("ROLLSTUHL", "wheelchair"),
    ("STROLLER", "pram"),
    ("KINDERWAGEN", "pram"),
    ("PUSHCHAIR", "pram"),
    ("PRAM", "pram"),
    ("WHEELBARROW", "barrow or small machine"),
)
# Outer diameter x width - bead seat, all in mm: no bicycle tyre puts its outer diameter first.
_PRAM = re.compile(r"(?<!\d)([23]\d\d)\s?X\s?(\d\d)\s?-\s?(1\d\d|2[0-9]\d)(?!\d)")
_BARROW = re.compile(
    r"(?<![\dX*.,/-])(?<![X*]\s)(?:\d[.,]\d{2}\s?/\s?)?(\d[.,]\d{2})\s?-\s?([4-8])(?![\d.,/-])"
)
_GARDEN = re.compile(
    r"(?<!\d)\d{1,2}\s?X\s?\d{1,2}[.,]\d{1,2}\s?-\s?(?:[4-9]|1\d)(?![\d.,-])"
    r"|(?<!\d)\d{1,2}\s?X\s?[6-9][.,]\d{1,2}(?!\d)"
)


def _sizes(line: str) -> Iterator[Marking]:
    if "X" not in line and "-" not in line:
        return
    for match in _PRAM.finditer(line):
        text = f"{match[1]} x {match[2]}-{match[3]}"
        yield Marking(NAME, text, {"value": "pram"}, match.span())
    for pattern in (_BARROW, _GARDEN):
        for match in pattern.finditer(line):
            text = re.sub(r"\s", "", match[0]).replace(",", ".")
            yield Marking(NAME, text, {"value": "barrow or small machine"}, match.span())


clean = together(search(NAME, _WORDS), _sizes)

NOTATION = Notation(
    name=NAME,
    kind=Kind.OTHER,
    tells=Tells.NOTHING,
    label="small wheel's size",
    title="wheelchair, pram or barrow",
    clean=clean,
)
find = NOTATION.find
