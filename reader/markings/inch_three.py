"""Inch sizes of three numbers: outer diameter x height x width, as in 28 x 1 5/8 x 1 3/8.

Source of form and order: 2fast-bikes.de (tyre sizes explained); '12 1/2 x 1 3/8 x 1 1/4' and
others: cycle-yoshida.com. Height and width are also printed the other way round; the order of
the table of names is taken, and for names that it lacks the larger number is the height.

>>> [(m.text, m.numbers["height_in"], m.numbers["width_in"]) for m in find("28X13/8X15/8")]
[('28 x 1 5/8 x 1 3/8', 1.625, 1.375)]
>>> [m.text for m in find("12½ x 1⅜ x 1¼")]
['12 1/2 x 1 3/8 x 1 1/4']
>>> [(m.text, m.cost) for m in find("28X1 518X1 3/B")]
[('28 x 1 5/8 x 1 3/8', 4.0)]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache, partial

from reader.markings.edges import NAME_END, glue, name_stands, word_stands
from reader.markings.inches import (
    DIAMETER,
    FRACTION,
    cross_cost,
    diameter,
    fraction,
    gap_cost,
    slash_cost,
    ways,
)
from reader.markings.known import is_plausible, names, tables
from reader.markings.letters import BUDGET, CROSS, DIGIT, meant, pinned
from reader.markings.notation import Kind, Notation, Tells, ask_inches
from reader.records import Marking
from reader.tables import inches

NAME = "inch_three"
_INCH = r"[\"']{0,2}"
_WIDTH = rf"(?:{FRACTION}|(2))"  # 26 x 2 x 1 3/4: a carrier's tyre for the 26 x 1 3/4 rim
_CLEAN = re.compile(rf"{DIAMETER}{_INCH}{CROSS}{_WIDTH}{_INCH}{CROSS}{_WIDTH}{_INCH}{NAME_END}")
_LIKE_CROSS = r"(\s?[X*KY%+-]\s?|\s)"
_LIKE_WIDTH = rf"({DIGIT})(\s?[-.,:~_]?\s?)({DIGIT})(\s?[-/I1L|7!TJ,'.:]\s?|\s?)({DIGIT})"
_DAMAGED = re.compile(
    rf"(?=({DIGIT}\s?{DIGIT}){_LIKE_CROSS}{_LIKE_WIDTH}{_LIKE_CROSS}{_LIKE_WIDTH})"
)


def clean(line: str) -> Iterator[Marking]:
    """Undamaged three-number sizes of a folded text."""
    if line.count("X") + line.count("*") < 2:
        return
    for match in _CLEAN.finditer(line):
        printed = diameter(match[1])
        widths = [match[3] or fraction(match[2]), match[5] or fraction(match[4])]
        if None in widths or not name_stands(line, *match.span()):
            continue
        height, width = _in_order(printed, [text for text in widths if text])
        if _plausible(printed, height, width):
            yield _marking(printed, height, width, match.span(), glue(line, *match.span()))


def _in_order(printed: str, widths: list[str]) -> tuple[str, str]:
    """Height and width: as the tables know them, else the larger first."""
    for height, width in (widths, widths[::-1]):
        if (printed, height, width) in _known():
            return height, width
    return max(widths, key=inches), min(widths, key=inches)


def _plausible(printed: str, height: str, width: str) -> bool:
    if not is_plausible("three-number diameter", inches(printed)):
        return False
    low, high = tables().plausible["three-number width"]  # 12 x 1/2 x 2 1/4: heights may be less
    return low <= inches(width) and inches(height) <= high


def damaged(line: str) -> Iterator[Marking]:
    """Damaged three-number sizes of a folded text; only those that the tables know."""
    for match in _DAMAGED.finditer(line):
        span = match.start(), match.end(13)
        seen = re.sub(r"\s", "", "".join(match.group(1, 3, 5, 7, 9, 11, 13)))
        # of eight or more; fewer could be any words
        if sum(map(str.isdigit, seen)) < 5 or not name_stands(line, *span):
            continue
        if not word_stands(line, *span):
            continue
        extra = sum(cross_cost(match[i]) for i in (2, 8)) + glue(line, *span)
        extra += sum(slash_cost(match[i]) + gap_cost(match[i - 2]) for i in (6, 12))
        found = {
            digits: cost + extra
            for digits, cost in meant(seen, _digits()).items()
            if 0 < cost + extra <= BUDGET
        }
        for digits, cost in pinned(found).items():
            yield _marking(*_digits()[digits], span, cost)


@lru_cache(maxsize=1)
def _digits() -> Mapping[str, tuple[str, str, str]]:
    """Known names by their digits, in both orders: 28158138 and 28138158."""
    return {
        re.sub(r"\D", "", printed + first + second): (printed, height, width)
        for turned in (True, False)  # the order of the table outdoes the other one
        for printed, height, width in _known()
        for first, second in ([(width, height)] if turned else [(height, width)])
        if printed.isdigit()
    }


@lru_cache(maxsize=1)
def _known() -> tuple[tuple[str, str, str], ...]:
    return tuple((row.diameter, row.height, width) for row in names(NAME) for width in row.widths)


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every known name in both orders, with space, dash or dot before the fraction."""
    for printed, height, width in _known():
        for first, second in ((height, width), (width, height)):
            if first == width != height and (printed, first, second) in _known():
                continue  # a row of its own
            for written in ways(f"{printed}X{first}X{second}"):
                yield written, _numbers(printed, height, width)


def _numbers(printed: str, height: str, width: str) -> dict[str, float | str]:
    return {
        "diameter_in": inches(printed),
        "height_in": inches(height),
        "width_in": inches(width),
        "height_text": height,
        "width_text": width,
    }


def _marking(printed: str, height: str, width: str, span: tuple[int, int], cost: float) -> Marking:
    text = f"{printed} x {height} x {width}"
    return Marking(NAME, text, _numbers(printed, height, width), span, cost)


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.NAME,
    label="three-number inch name",
    title="inches, three numbers",
    clean=clean,
    damaged=damaged,
    asks=partial(ask_inches, NAME),
    spellings=spellings,
)
find = NOTATION.find
