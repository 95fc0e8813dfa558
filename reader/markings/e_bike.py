"""Suited to electric bicycles up to 25 or 50 km/h: E-25, E-50, E-BIKE READY 50. No width.

Source: 'E-25' in a tyre's specification (bike-eu.com 2017/02); E-50 and the longer form in makers'
technical pages, from memory.

>>> [(m.text, m.numbers["value"]) for m in find("E-50  E-BIKE READY 25")]
[('E-50', 50.0), ('E-25', 25.0)]
>>> list(find("26 x 1 3/8 E.A.3")), list(find("E25-622"))
([], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "e_bike"
_MARK = re.compile(r"(?<![A-Z0-9.])E-?(?:BIKE\s?(?:READY)?\s?-?)?(25|50)(?!\d|\s?[.,X/*-]\s?\d)")


def clean(line: str) -> Iterator[Marking]:
    """Marks of a folded text."""
    for match in _MARK.finditer(line):
        yield Marking(NAME, f"E-{match[1]}", {"value": float(match[1])}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="e-bike mark",
    title="for electric bicycles, km/h",
    clean=clean,
    tyre_text=1.0,
)
find = NOTATION.find
