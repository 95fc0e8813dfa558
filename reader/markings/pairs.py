"""Damaged pairs of numbers, one of them a bead seat diameter: for the ISO pair and the rim."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from reader.markings.edges import glue, pair_stands, word_stands
from reader.markings.known import common_seats, french_diameters, seats
from reader.markings.letters import (
    BUDGET,
    DIGIT,
    DIGIT_CONFUSED,
    SIGN_LOST,
    SPACE_ADDED,
    meant,
    pinned,
)
from reader.text.confusables import ALIKE

_SIGN = r"(\s?C?[-X*~_=.:,+/'\"]\s?)"
_CROSS_LIKE = r"(\s?[-X*KY%/.~_]\s?)"
_TWO, _THREE = rf"({DIGIT}\s?{DIGIT})", rf"({DIGIT}\s?{DIGIT}\s?{DIGIT})"
_WIDTH_FIRST = (
    re.compile(rf"(?={_TWO}{_SIGN}{_THREE})"),
    re.compile(rf"(?={_THREE}{_SIGN}{_THREE})"),
    # The dash is gone; inside a longer word that would be any number.
    re.compile(rf"(?<![A-Z])(?=({DIGIT}{DIGIT})(\s?)({DIGIT}{{3}})(?![A-Z]))"),
    # A digit is gone:
    re.compile(r"(?<![0-9A-Z?])(?:(?=(\d)(-)(\d\d\d))|(?=(\d\d)(-)(\d\d)(?!\d)))"),
)
_BSD_FIRST = (
    re.compile(rf"(?={_THREE}{_CROSS_LIKE}{_TWO})"),
    re.compile(rf"(?={_THREE}{_CROSS_LIKE}({DIGIT}{{3}}|{DIGIT}{{2}}\.{DIGIT}))"),
)
LEAST_DIGITS = 3  # signs of the pair that are truly digits


@dataclass(frozen=True)
class Part:
    """What a tyre or rim can be, for decoding a pair; all widths in mm at a diameter in mm."""

    signs: str  # what may stand between the numbers at no cost
    plausible: Callable[[float, int], bool]  # width, diameter: what a whole width may be
    listed: Callable[[int], Iterable[float]]  # what a width with look-alikes may be
    usual: Callable[[int], Iterable[float]]  # what a width with a wrong or lost digit may be
    tail: re.Pattern[str] = re.compile(r"$")  # what may touch the last number


@dataclass(frozen=True)
class Pair:
    """A pair that damaged text may stand for; numbers in mm, place in the folded text."""

    width: float
    bsd: int
    span: tuple[int, int]
    cost: float
    sign: str  # what stands between the numbers


def width_first(text: str, part: Part) -> Iterator[Pair]:
    """Damaged pairs written width, sign, bead seat diameter."""
    for pattern in _WIDTH_FIRST:
        for match in pattern.finditer(text):
            yield from _decode(text, match, part, wide=0)


def bsd_first(text: str, part: Part) -> Iterator[Pair]:
    """Damaged pairs written bead seat diameter, sign, width."""
    for pattern in _BSD_FIRST:
        for match in pattern.finditer(text):
            yield from _decode(text, match, part, wide=1)


def _decode(text: str, match: re.Match[str], part: Part, wide: int) -> Iterator[Pair]:
    """Pairs that a match may stand for; `wide` tells which number is the width, 0 or 1."""
    first = 1 if match[1] is not None else 4  # group
    span = match.start(first), match.end(first + 2)
    numbers = [re.sub(r"\s", "", match[first]), re.sub(r"\s", "", match[first + 2])]
    if sum(map(str.isdigit, "".join(numbers))) < LEAST_DIGITS:
        return
    kind = part.tail.match(text, span[1])
    if not pair_stands(text, *span) or not (kind or word_stands(text, *span)):
        return
    between = match[first + 1]
    spaces = span[1] - span[0] - len(between) - len("".join(numbers))
    extra = _sign_cost(between, part.signs) + spaces * SPACE_ADDED + glue(text, *span)
    found: dict[tuple[str, int], float] = {}
    for seat, seat_cost in _seats(numbers[1 - wide]).items():
        for width, cost in _widths(numbers[wide], int(seat), part).items():
            if 0 < extra + cost + seat_cost <= BUDGET:  # whole pairs are for the clean search
                found[width, int(seat)] = extra + cost + seat_cost
    for (width, bsd), cost in pinned(found).items():
        yield Pair(float(width), bsd, span, cost, between)


def _widths(seen: str, bsd: int, part: Part) -> dict[str, float]:
    if seen.isdigit() and seen[0] != "0" and part.plausible(float(seen), bsd):
        return {seen: 0.0}
    listed = meant(seen, [f"{width:g}" for width in part.listed(bsd)])
    usual = {f"{width:g}" for width in part.usual(bsd)}
    return {w: cost for w, cost in listed.items() if cost < DIGIT_CONFUSED or w in usual}


def _seats(seen: str) -> dict[str, float]:
    if seen.isdigit() and int(seen) in seats():  # it exists, so it is not another one damaged
        return {seen: 0.0}
    if seen in french_diameters():  # 700 is whole, and not a damaged 400
        return {}
    if len(seen) == 3:  # as all but the smallest seats
        return meant(seen, common_seats())
    # Any two numbers could be a pair with a digit gone: only where a single diameter is left.
    three = (str(bsd) for bsd in seats() if bsd > 99)
    return pinned(meant(seen, three), most=1, margin=BUDGET)


def _sign_cost(between: str, signs: str) -> float:
    sign = between.strip()
    if len(sign) > 1 and "C" not in signs:  # 19C-622 is a rim
        return BUDGET + 1
    sign = sign.removeprefix("C")
    if sign:
        return 0.0 if sign in signs else ALIKE
    return SIGN_LOST if between else SIGN_LOST + SPACE_ADDED
