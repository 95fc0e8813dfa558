"""French sizes: outer diameter in mm, width in mm, and the letter that tells the bead seat.

Sources of the forms: '28-622 700x28C' (kosunacycle.com/archives/1133); '650B', '700C', '650 x 35A'
(blog.ozo-electric.com 2020/05/28, guide-velo.com); '350 x 32A' (cycle-yoshida.com). '700C x 28',
'32x700C' and a width in inches behind the letter (650B x 2.1) are from memory.

>>> [(m.text, m.numbers["letter"]) for t in ("700X28C", "700 x 28", "650B") for m in find(t)]
[('700x28C', 'C'), ('700x28', ''), ('650B', 'B')]
>>> [(m.text, m.cost) for m in find("28-6227OOX28C")]
[('700x28C', 6.5)]
>>> list(find("622x19C"))  # crochet, on a rim
[]
>>> list(find("700x35/43c"))  # a tube
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache

from reader.markings.edges import NAME_END, glue, name_stands, word_stands
from reader.markings.inches import cross_cost
from reader.markings.known import (
    french_diameters,
    french_seats,
    is_plausible,
    names,
    usual_tyre_widths,
)
from reader.markings.letters import BUDGET, CROSS, DIGIT, DIGIT_CONFUSED, meant, pinned
from reader.markings.notation import FrenchAsked, Kind, Notation, Numbers, Tells
from reader.records import Marking
from reader.text.confusables import alike
from reader.text.units import INCH

NAME = "french"
_DIAMETER = r"([2-7][05]0|315|320)"
_END = rf"(?![A-Z]){NAME_END}"
_CLEAN = re.compile(
    rf"{_DIAMETER}(?:"
    rf"\s?(?:MM\s?)?(?:[X*]|-)\s?(\d\d)(?:\s?(?:MM\s?)?([A-D]){_END}|{NAME_END})"  # 700x28C
    rf"|\s?([A-D])(?:{CROSS}(\d\d|\d[.,]\d{{1,3}}))?{_END})"  # 700C, 700C x 28
    rf"|(\d\d){CROSS}{_DIAMETER}\s?([A-D]){_END}"  # 32x700C
)
_DAMAGED = re.compile(
    rf"(?=({DIGIT}\s?{DIGIT}\s?{DIGIT})(\s?[X*KY%+:/~_-]\s?|\s?)({DIGIT}\s?{DIGIT})\s?([A-DG(086])?)"
)
_DAMAGED_LETTERED = re.compile(rf"(?=({DIGIT}{{3}})\s?([A-D])(?:(\s?[X*KY%]\s?)({DIGIT}{{2}}))?)")
_RIM_BEFORE = re.compile(r"(?:SS|TC|HB)\s?$")
_RIM_AFTER = re.compile(r"\s?(?:TSS|SS|TC|HB)\b")
_LETTERS = "ABCD"


def clean(line: str) -> Iterator[Marking]:
    """Undamaged French sizes of a folded text."""
    if "0" not in line and "315" not in line:
        return
    for match in _CLEAN.finditer(line):
        diameter = match[1] or match[7]
        letter = match[3] or match[4] or match[8] or ""
        width = _width(match[2] or match[5] or match[6])
        if not french_seats(int(diameter), letter, str(width)):
            continue
        if not name_stands(line, *match.span()):
            continue
        if _RIM_AFTER.match(line, match.end()) or _RIM_BEFORE.search(line[: match.start()]):
            continue
        if width == 0 and line[max(0, match.start() - 1) : match.start()].isalpha():
            continue  # part of a word or a code
        if (match[4] and not match[5]) or is_plausible("French width", width):
            span = match.span()
            yield _marking(int(diameter), width, letter, span, glue(line, *span))


def _width(text: str | None) -> int:
    """Width in mm; one printed in inches is rounded to mm (1 in = 25.4 mm)."""
    if not text:
        return 0
    return int(text) if text.isdigit() else round(float(text.replace(",", ".")) * INCH)


def damaged(line: str) -> Iterator[Marking]:
    """Damaged French sizes of a folded text; only widths in use at that diameter."""
    yield from _damaged_lettered(line)
    for match in _DAMAGED.finditer(line):
        seen = re.sub(r"\s", "", match[1]), re.sub(r"\s", "", match[3])
        if sum(map(str.isdigit, "".join(seen))) < 3:  # fewer true digits could be any word
            continue
        ends = [match.end(4), match.end(3)] if match[4] else [match.end(3)]
        span = next(
            ((match.start(), end) for end in ends if _stands(line, match.start(), end)), None
        )
        if span is None:
            continue
        sign = match[4] if match[4] and span[1] == match.end(4) else ""
        yield from _decode(line, span, seen, match[2], sign)


def _damaged_lettered(line: str) -> Iterator[Marking]:
    """The letter before the width, or alone: 7O0C x 28, 65OB."""
    for match in _DAMAGED_LETTERED.finditer(line):
        seen, letter, cross, width = match.groups()
        span = match.start(), match.end(4) if width else match.end(2)
        if sum(map(str.isdigit, seen + (width or ""))) < 2 or not _stands(line, *span):
            continue
        extra = (cross_cost(cross) if width else 0.0) + glue(line, *span)
        # Without a width there is nothing to bear out a wrong digit.
        budget = BUDGET if width else DIGIT_CONFUSED - 0.1
        found: dict[tuple[int, int, str], float] = {}
        for diameter, cost in meant(seen, french_diameters(), budget).items():
            if french_seats(int(diameter), letter):
                usual = _usual(int(diameter), letter) if width else ("0",)
                for told, more in meant(width or "0", usual).items():
                    if 0 < extra + cost + more <= budget:
                        found[int(diameter), int(told), letter] = extra + cost + more
        for size, total in pinned(found).items():
            yield _marking(*size, span, total)


def _decode(
    line: str, span: tuple[int, int], seen: tuple[str, str], cross: str, sign: str
) -> Iterator[Marking]:
    extra = (0.0 if cross.strip() == "-" else cross_cost(cross)) + glue(line, *span)
    found: dict[tuple[int, int, str], float] = {}
    for diameter, cost in meant(seen[0], french_diameters()).items():
        for letter, more in _letters(int(diameter), sign).items():
            for width, most in meant(seen[1], _usual(int(diameter), letter)).items():
                total = extra + cost + more + most
                if 0 < total <= BUDGET:
                    found[int(diameter), int(width), letter] = total
    for size, total in pinned(found).items():
        yield _marking(*size, span, total)


def _letters(diameter: int, sign: str) -> dict[str, float]:
    """Letters that a sign can stand for at this diameter, with costs."""
    if not sign:
        return {"": 0.0}
    return {
        letter: cost
        for letter in _LETTERS
        if (cost := _seen_as(letter).get(sign)) is not None and french_seats(diameter, letter)
    }


@lru_cache(maxsize=8)
def _seen_as(letter: str) -> dict[str, float]:
    """The signs that may be seen for a letter; a D is so rare that a 0 there is a C."""
    return {letter: 0.0} | (alike(letter) if letter != "D" else {})


def _stands(line: str, start: int, end: int) -> bool:
    return name_stands(line, start, end) and word_stands(line, start, end)


@lru_cache(maxsize=64)
def _usual(diameter: int, letter: str) -> tuple[str, ...]:
    """Widths in use at any bead seat that the name can mean, as texts."""
    found = {width for bsd in french_seats(diameter, letter) for width in usual_tyre_widths(bsd)}
    if letter:
        found |= {float(width) for width in _printed(diameter, letter)}
    return tuple(f"{width:g}" for width in sorted(found) if is_plausible("French width", width))


def _printed(diameter: int, letter: str) -> tuple[str, ...]:
    """Widths that the tables print with this very letter, or without one."""
    rows = (row for row in names(NAME) if (row.diameter, row.mark) == (str(diameter), letter))
    return tuple(width for row in rows for width in row.widths)


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every known diameter and letter, alone and with the widths in use, in all orders."""
    for diameter, letter in dict.fromkeys((int(r.diameter), r.mark) for r in names(NAME)):
        if letter and french_seats(diameter, letter):
            yield f"{diameter}{letter}", _numbers(diameter, 0, letter)
        for text in _usual(diameter, letter) if letter else _printed(diameter, ""):
            width = int(text)
            if not letter:
                yield f"{diameter}X{width}", _numbers(diameter, width, "")
                continue
            numbers = _numbers(diameter, width, letter)
            yield f"{diameter}X{width}{letter}", numbers
            yield f"{diameter}-{width}{letter}", numbers
            yield f"{diameter}{letter}X{width}", numbers
            if letter == "C":
                yield f"{diameter}X{width}", _numbers(diameter, width, "")


def _numbers(diameter: int, width: int, letter: str) -> dict[str, float | str]:
    return {"diameter_mm": diameter, "width_mm": width, "letter": letter}


def _marking(diameter: int, width: int, letter: str, span: tuple[int, int], cost: float) -> Marking:
    text = f"{diameter}x{width}{letter}" if width else f"{diameter}{letter}"
    return Marking(NAME, text, _numbers(diameter, width, letter), span, cost)


def _asks(numbers: Numbers) -> FrenchAsked:
    letter = str(numbers.get("letter", "")).upper()
    return FrenchAsked(int(numbers["diameter_mm"]), float(numbers.get("width_mm", 0)), letter)


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.NAME,
    label="French name",
    title="French size",
    clean=clean,
    damaged=damaged,
    asks=_asks,
    spellings=spellings,
    chance=-1.0,
)
find = NOTATION.find
