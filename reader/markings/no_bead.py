"""Tyres without a bead: TUBULAR, SEW-UP, and solid ones. They have no bead seat size.

Source: 27, 28 and 700C name one tubular size, 26 and 650C the smaller one (a bicycle repair
handbook); 'sew-up' there too; words for solid tyres from memory.

>>> [(m.text, m.numbers["value"]) for m in find('28" TUBULAR')]
[('28 TUBULAR', 'tubular')]
>>> [(m.text, m.numbers["value"]) for m in find("AIRLESS 24x1 3/8")]
[('AIRLESS', 'solid')]
>>> list(find("NOT FOR TUBULAR RIMS"))
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search, together
from reader.records import Marking
from reader.text.confusables import wordlike

NAME = "no_bead"
_SOLID = (
    ("SOLID TYRE", "solid"),
    ("SOLID TIRE", "solid"),
    ("SOLID RUBBER", "solid"),
    ("NON PNEUMATIC", "solid"),
    ("AIRLESS", "solid"),
)
_SIZE = r"(2[678]|24|650\s?C?|700\s?C?)[\"']{0,2}"
_MORE = rf"(?:\s?[/,]\s?{_SIZE}){{0,2}}"
_TUBULAR = re.compile(
    rf"(?:(?<![\d.,X-]){_SIZE}{_MORE}\s?(?:X\s?\d\d\s?(?:MM|C)?\s?)?)?"
    rf"(?<![A-Z0-9])(?:{wordlike('TUBULAR')}|SEW\s?-?\s?UP)(?![A-Z0-9])"
)
_NOT = re.compile(r"(?:NOT?|NON|NICHT)\s(?:FOR\s|F.R\s)?$")


def _tubular(line: str) -> Iterator[Marking]:
    for match in _TUBULAR.finditer(line):
        if not _NOT.search(line[: match.start()]):
            text = " ".join(part for part in (match[1], "TUBULAR") if part)
            yield Marking(NAME, text, {"value": "tubular"}, match.span())


clean = together(search(NAME, _SOLID), _tubular)

NOTATION = Notation(
    name=NAME,
    kind=Kind.OTHER,
    tells=Tells.NOTHING,
    label="tyre without a bead",
    title="tubular or solid, no bead seat size",
    clean=clean,
    tyre_text=2.0,
)
find = NOTATION.find
