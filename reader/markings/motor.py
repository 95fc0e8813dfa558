"""Tyres of motor vehicles: 215/55R16 93V, 100/70-17 M/C, 2.75-17. No bicycle size.

Sources: '215/55R16' and '185/65R15 92T' on photographed car tyres (fixtures/replay, real-car-…); UN
Regulation No. 75 for M/C and the forms 100/70-17 and 2.75-17 (EUR-Lex 42011X0330(02)). A moped's
old outer-size names, such as 20 x 2.25, look like a bicycle's: only MOPED or M/C beside them tells.

>>> [(m.text, m.numbers["value"]) for m in find("215/55R16 93V")]
[('215/55R16', 'motor car')]
>>> [(m.text, m.numbers["value"]) for m in find("100/70-17 M/C  2.75-17")]
[('100/70-17', 'motorcycle'), ('M/C', 'motorcycle'), ('2.75-17', 'motorcycle')]
>>> list(find("28/47-622")), list(find("26 x 1.75-2.125")), list(find("47-507 24x1.75"))
([], [], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking
from reader.text.confusables import ALIKE

NAME = "motor"
_RIM = r"([12]\d|[89])"  # inches
_METRIC = re.compile(
    rf"(?<!\d)([1-3]?\d[05]|[6-9]\d)\s?/\s?([2-9][05])\s?(?:-?\s?(Z?[RB])|[VHST]{{1,2}}R|-)\s?{_RIM}"
    r"(?![\d/-])"
)
_READ_BADLY = re.compile(
    r"(?<!\d)([1-3]\d5)\s?[/I1|7]\s?([3-8][05])\s?(R)\s?(1[0-9]|2[0-2])(?![/-])"
)
_WITHOUT_HEIGHT = re.compile(r"(?<!\d)(1[2-9]5)\s?R\s?(1[0-6])\s?C?(?![\dA-Z])")
_NUMERIC = re.compile(
    rf"(?<![\dX*.,/-])(?<![X*]\s)(\d[.,]\d{{2}}|\d\s?[13]/[24])\s?-\s?{_RIM}(?![\d.,/-])"
)
_WORD = re.compile(r"(?<![A-Z0-9])(?:(M\s?/\s?C)|(MOPED|MOFA|SCOOTER|MOTORCYCLE))(?![A-Z0-9])")
_LOAD_AND_SPEED = re.compile(r"\s?\.{0,2}\s?\d{2,3}\s?[A-Z](?![A-Z])")
CAR_WIDTH = 145  # mm; narrower tyres with a rim code in inches are a motorcycle's; common practice


def clean(line: str) -> Iterator[Marking]:
    """Motor vehicles' sizes and words of a folded text."""
    if "/" in line or "-" in line or "R" in line:
        whole = [match.span() for match in _METRIC.finditer(line)]
        for match in _METRIC.finditer(line):
            yield _metric(line, match, match[3] or ("-" if "-" in match[0] else "R"), 0.0)
        for match in _READ_BADLY.finditer(line):
            if not any(start <= match.start() < end for start, end in whole):
                yield _metric(line, match, match[3], ALIKE)
        for match in _WITHOUT_HEIGHT.finditer(line):
            text = f"{match[1]}R{match[2]}"
            yield Marking(NAME, text, {"value": "motor car"}, match.span())
        for match in _NUMERIC.finditer(line):
            text = re.sub(r"\s?-\s?", "-", match[0]).replace(",", ".")
            yield Marking(NAME, text, {"value": "motorcycle"}, match.span())
    for match in _WORD.finditer(line):
        text = "M/C" if match[1] else match[2]
        yield Marking(NAME, text, {"value": "motorcycle"}, match.span())


def _metric(line: str, match: re.Match[str], sign: str, cost: float) -> Marking:
    """Width, height in per cent, make and rim; load and speed behind belong to it."""
    width = int(match[1])
    what = "motor car" if width >= CAR_WIDTH and sign != "-" else "motorcycle"
    after = _LOAD_AND_SPEED.match(line, match.end())
    span = match.start(), after.end() if after else match.end()
    return Marking(NAME, f"{width}/{match[2]}{sign}{match[4]}", {"value": what}, span, cost)


NOTATION = Notation(
    name=NAME,
    kind=Kind.OTHER,
    tells=Tells.NOTHING,
    label="motor vehicle's size",
    title="motor vehicle, no bicycle size",
    clean=clean,
)
find = NOTATION.find
