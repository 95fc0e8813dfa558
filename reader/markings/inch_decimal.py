"""Inch sizes with a decimal width: 26 x 1.75. The decimal tells the family of diameters.

Sources of the forms: '47-406 20x1.75' (kosunacycle.com/archives/1133), '28 x 1.75' and '28 x 2.00'
(2fast-bikes.de), '27.5 x 2.25' (guide-velo.com), '12 1/2 x 1.75' (cycle-yoshida.com). A decimal
comma and a third number, as in 26x1.75x2, are from memory.

>>> [(m.text, m.numbers["diameter_in"], m.numbers["width_text"]) for m in find("27,5 x 2,25")]
[('27.5 x 2.25', 27.5, '2.25')]
>>> [(m.text, m.cost) for m in find("20X1.7547-406")]
[('20 x 1.75', 2.5)]
>>> [(m.text, m.cost) for m in find("26K1.7S")]
[('26 x 1.75', 4.0)]
>>> list(find("26x1.75-2.125"))  # the range of a tube
[]
>>> list(find("M12x1.25"))  # a screw thread
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache, partial

from reader.markings.edges import NAME_END, glue, name_stands, word_stands
from reader.markings.inches import DIAMETER, cross_cost, diameter, printed_diameters, ways
from reader.markings.known import is_plausible, tables
from reader.markings.letters import BUDGET, CROSS, DIGIT, SIGN_LOST, damage, meant, pinned
from reader.markings.notation import Kind, Notation, Tells, ask_inches
from reader.records import Marking
from reader.tables import inches
from reader.text.confusables import ALIKE

NAME = "inch_decimal"
_CLEAN = re.compile(
    rf"{DIAMETER}[\"']{{0,2}}{CROSS}(\d[.,](?:[1368][27]5|\d\d|\d))"
    rf"(?:\s?X\s?2(?:[.,]\d{{1,3}}|\s?1/4)?)?[\"']{{0,2}}{NAME_END}"
)
_DAMAGED = re.compile(
    rf"(?=({DIGIT}\s?{DIGIT})([.,][5S]|\s?1[/1I|][2Z])?[\"']{{0,2}}(\s?[X*KY%+:/-]\s?|\s)"
    rf"({DIGIT})(\s?[.,:'-]\s?|\s?)({DIGIT}{{1,3}}))"
)


def clean(line: str) -> Iterator[Marking]:
    """Undamaged decimal inch sizes of a folded text."""
    if "X" not in line and "*" not in line:
        return
    for match in _CLEAN.finditer(line):
        printed, width = diameter(match[1]), match[2].replace(",", ".")
        if printed not in printed_diameters(NAME) or not name_stands(line, *match.span()):
            continue
        if _is_thread(line, match.start()):
            continue
        if is_plausible("decimal width", float(width)):
            yield _marking(printed, width, match.span(), glue(line, *match.span()))


def damaged(line: str) -> Iterator[Marking]:
    """Damaged decimal inch sizes of a folded text; only widths that are made."""
    for match in _DAMAGED.finditer(line):
        span = match.start(), match.end(6)
        seen = re.sub(r"\s", "", match[1]), match[4] + match[6]
        # fewer true digits could be any word
        if sum(map(str.isdigit, "".join(seen))) < 3 or not _stands(line, span):
            continue
        if _is_thread(line, span[0]):
            continue
        extra = cross_cost(match[3]) + _point_cost(match[5]) + glue(line, *span)
        if match[3].strip() not in ("X", "*") and match[5].strip() not in (".", ","):
            continue  # 12:30 is a time of day
        found: dict[str, float] = {}
        for printed, cost in _diameters(seen[0], match[2]).items():
            for digits, more in meant(seen[1], _digits(printed)).items():
                if 0 < extra + cost + more <= BUDGET:
                    found[f"{printed}X{digits[0]}.{digits[1:]}"] = extra + cost + more
        for size, cost in pinned(found).items():
            printed, _, width = size.partition("X")
            yield _marking(printed, width, span, cost)


def _is_thread(line: str, start: int) -> bool:
    """Whether an M stands right before: M12x1.25 is a screw thread (ISO 261:1998)."""
    return line[:start].endswith("M")


def _diameters(seen: str, half: str | None) -> dict[str, float]:
    """Printed diameters that a damaged one can stand for; `half` is its '.5' or '1/2', if any."""
    if half is None:
        return meant(seen, printed_diameters(NAME))
    half = half.strip().replace(",", ".")
    more = damage(half, ".5" if len(half) == 2 else "1/2")
    halves = {diameter(f"{whole}.5"): cost for whole, cost in meant(seen, ("12", "27")).items()}
    return {printed: cost + more for printed, cost in halves.items()}


def _stands(line: str, span: tuple[int, int]) -> bool:
    return name_stands(line, *span) and word_stands(line, *span)


def _point_cost(sign: str) -> float:
    if sign.strip() in (".", ","):
        return 0.0
    return ALIKE if sign.strip() else SIGN_LOST


@lru_cache(maxsize=64)
def _digits(printed: str) -> tuple[str, ...]:
    """The widths in use with a diameter, without their point."""
    return tuple(text.replace(".", "") for text in tables().inch_widths(NAME, printed))


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every printed width of every diameter, plain and with the inch sign."""
    for printed in printed_diameters(NAME):
        for width in tables().inch_widths(NAME, printed):
            numbers = _numbers(printed, width)
            for written in ways(printed):
                yield f"{written}X{width}", numbers
                yield f'{written}"X{width}', numbers
            if printed == "12 1/2":
                yield f"12.5X{width}", numbers


def _numbers(printed: str, width: str) -> dict[str, float | str]:
    return {"diameter_in": inches(printed), "width_in": float(width), "width_text": width}


def _marking(printed: str, width: str, span: tuple[int, int], cost: float) -> Marking:
    return Marking(NAME, f"{printed} x {width}", _numbers(printed, width), span, cost)


def _is_screw(before: str, text: str, after: str) -> bool:
    """Whether an M touches the first digit, in letters told by an engine."""
    return before == "M"


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.NAME,
    label="inch decimal name",
    title="inches, decimal",
    clean=clean,
    damaged=damaged,
    asks=partial(ask_inches, NAME, decimal=True),
    spellings=spellings,
    chance=-1.0,
    doubtful=_is_screw,
)
find = NOTATION.find
