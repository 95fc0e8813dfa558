"""Spoke holes of a rim: 32H, 36 HOLES. No size.

Source: 32H and 36H on rims (sizes list, rims); the counts in use: spoke_holes.csv.

>>> [(m.text, m.numbers["value"]) for m in find("28-630 28H")]
[('28H', 28.0)]
>>> list(find("700X32H1")), list(find("92H"))
([], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import tables
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "holes"
_MARK = re.compile(r"(?<![\dA-Z.,/X-])(\d{2,3})\s?(?:H|HOLES?|LOCH)(?![A-Z0-9])")


def clean(line: str) -> Iterator[Marking]:
    """Counts of holes of a folded text."""
    for match in _MARK.finditer(line):
        if int(match[1]) in tables().spoke_holes:
            yield Marking(NAME, f"{match[1]}H", {"value": float(match[1])}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="spoke holes",
    title="spoke holes",
    clean=clean,
    rim_text=4.0,  # judgement: hardly on tyres
)
find = NOTATION.find
