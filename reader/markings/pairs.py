"""Damaged pairs of numbers, one of them a bead seat diameter: for the ISO pair and the rim."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from reader.markings.edges import glue, pair_stands, word_stands
from reader.markings.known import common_seats, french_diameters, seats
from reader.markings.letters import (
    ALIKE,
    BUDGET,
    DIGIT,
    SIGN_LOST,
    SPACE_ADDED,
    meant,
    pinned,
)

_SIGN = r"(\s?[-X*~_=.:,+/'\"]\s?)"
_CROSS_LIKE = r"(\s?[-X*KY%/.]\s?)"
_TWO, _THREE = rf"({DIGIT}\s?{DIGIT})", rf"({DIGIT}\s?{DIGIT}\s?{DIGIT})"
_WIDTH_FIRST = (
    re.compile(rf"(?={_TWO}{_SIGN}{_THREE})"),
    re.compile(rf"(?={_THREE}{_SIGN}{_THREE})"),
    re.compile(rf"(?=({DIGIT}{DIGIT})(\s?)({DIGIT}{{3}}))"),  # the dash is gone
    re.compile(
        r"(?<![0-9A-Z?])(?:(?=(\d)(-)(\d\d\d))|(?=(\d\d)(-)(\d\d)(?!\d)))"
    ),  # a digit is gone
)
_BSD_FIRST = (re.compile(rf"(?={_THREE}{_CROSS_LIKE}{_TWO})"),)
Widths = Callable[[int], Iterable[float]]
LEAST_DIGITS = 3  # signs of the pair that are truly digits


@dataclass(frozen=True)
class Pair:
    """A pair that damaged text may stand for; numbers in mm, place in the folded text."""

    width: int
    bsd: int
    span: tuple[int, int]
    cost: float


def width_first(text: str, signs: str, widths: Widths) -> Iterator[Pair]:
    """Damaged pairs written width, sign, bead seat diameter; `signs` cost nothing.

    `widths` tells the widths in mm that exist at a bead seat diameter.
    """
    for pattern in _WIDTH_FIRST:
        for match in pattern.finditer(text):
            yield from _decode(text, match, signs, widths, wide=0)


def bsd_first(text: str, signs: str, widths: Widths) -> Iterator[Pair]:
    """Damaged pairs written bead seat diameter, sign, width; `signs` cost nothing."""
    for pattern in _BSD_FIRST:
        for match in pattern.finditer(text):
            yield from _decode(text, match, signs, widths, wide=1)


def _decode(
    text: str, match: re.Match[str], signs: str, widths: Widths, wide: int
) -> Iterator[Pair]:
    """Pairs that a match may stand for; `wide` tells which number is the width, 0 or 1."""
    first = 1 if match[1] is not None else 4
    span = match.start(first), match.end(first + 2)
    numbers = [re.sub(r"\s", "", match[first]), re.sub(r"\s", "", match[first + 2])]
    digits = sum(map(str.isdigit, "".join(numbers)))
    if digits < LEAST_DIGITS or not (pair_stands(text, *span) and word_stands(text, *span)):
        return
    between = match[first + 1]
    spaces = span[1] - span[0] - len(between) - len("".join(numbers))
    extra = _sign_cost(between, signs) + spaces * SPACE_ADDED + glue(text, *span)
    found: dict[str, float] = {}
    for bsd, bsd_cost in _bsds(numbers[1 - wide]).items():
        existing = {f"{width:g}" for width in widths(int(bsd))}
        for width, cost in meant(numbers[wide], existing).items():
            if 0 < extra + cost + bsd_cost <= BUDGET:  # whole pairs are for the clean search
                found[f"{width}-{bsd}"] = extra + cost + bsd_cost
    for pair, cost in pinned(found).items():
        width, bsd = pair.split("-")
        yield Pair(int(width), int(bsd), span, cost)


def _bsds(seen: str) -> dict[str, float]:
    if seen in french_diameters() - {
        str(bsd) for bsd in seats()
    }:  # 700 is whole, and not a damaged 400
        return {}
    if len(seen) == 3:
        return meant(seen, common_seats())
    # Any two numbers could be a pair with a digit gone: only where a single diameter is left.
    three = (str(bsd) for bsd in seats() if bsd > 99)
    return pinned(meant(seen, three), most=1, margin=BUDGET)


def _sign_cost(between: str, signs: str) -> float:
    sign = between.strip()
    if sign:
        return 0.0 if sign in signs else ALIKE
    return SIGN_LOST if between else SIGN_LOST + SPACE_ADDED
