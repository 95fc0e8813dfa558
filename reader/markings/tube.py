"""What a tube takes: a range of widths in mm and one or two bead seat diameters.

Sources of the forms: '37/57-559', '30-622 // 700x35/43c' and '700x18 to 700x25' (tube labels, sizes
list); two diameters, as in 28/47-622/635, and inch ranges are from memory. A French name without
letter means 622 at 700 (presumed there), else any bead seat of that diameter. Inch widths become
the mm that makers print for them, as the table of inch widths has it.

>>> [m.text for t in ("37/57-559", "28/47-622/635", "700x35/43c") for m in find(t)]
['37/57-559', '28/47-622/635', '700x35/43C']
>>> [m.numbers for m in find("700x18 to 700x25")]
[{'width_min_mm': 18, 'width_max_mm': 25, 'bsd_mm': 622, 'bsd2_mm': 0}]
>>> [(m.text, m.numbers["width_max_mm"]) for m in find("26 x 1.75-2.125")]
[('26x1.75/2.125', 57)]
>>> [(m.text, m.cost) for m in find("37/57-5S9")]
[('37/57-559', 2.0)]
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from math import log

from reader.markings.edges import NAME_END, name_stands, pair_stands, word_stands
from reader.markings.inches import DIAMETER, diameter
from reader.markings.known import (
    common_seats,
    french_seats,
    is_tyre,
    names,
    seats,
    tables,
    usual_tyre_widths,
)
from reader.markings.letters import BUDGET, CROSS, DIGIT, meant, pinned
from reader.markings.notation import Kind, Notation, Numbers, SeatsAsked, Tells
from reader.records import Marking
from reader.text.confusables import ALIKE
from reader.text.units import INCH

NAME = "tube"
_ISO = re.compile(r"([1-9]\d)\s?([/-])\s?([1-9]\d)\s?([/-])\s?(\d{3})(?:\s?/\s?(\d{3}))?")
_TWO_SEATS = re.compile(r"([1-9]\d)\s?-\s?(\d{3})\s?/\s?(\d{3})")
_TO = r"\s?(?:[/-]|TO|BIS)\s?"
_FRENCH = re.compile(
    rf"([2-7][05]0){CROSS}(\d\d)\s?([A-D])?{_TO}(?:\1{CROSS})?(\d\d)\s?([A-D])?(?![A-Z]){NAME_END}"
)
_INCH = re.compile(
    rf"{DIAMETER}[\"']?{CROSS}(\d[.,]\d{{1,3}}){_TO}(?:\1[\"']?{CROSS})?(\d[.,]\d{{1,3}}){NAME_END}"
)
_DAMAGED = re.compile(rf"(?=({DIGIT}{DIGIT})([/I1L|!T])({DIGIT}{DIGIT})([-~_=.:/])({DIGIT}{{3}}))")


def clean(line: str) -> Iterator[Marking]:
    """Undamaged tube ranges of a folded text."""
    if "/" not in line and "-" not in line and "TO" not in line and "BIS" not in line:
        return
    yield from _iso(line)
    if "X" in line or "*" in line:
        yield from _french(line)
        yield from _inch(line)


def _iso(line: str) -> Iterator[Marking]:
    for match in _ISO.finditer(line):
        low, high, bsd, bsd2 = int(match[1]), int(match[3]), int(match[5]), int(match[6] or 0)
        if low < high and _exists(low, high, bsd, bsd2) and pair_stands(line, *match.span()):
            cost = 0.0 if match[2] + match[4] == "/-" else ALIKE
            yield _marking((low, high), (bsd, bsd2), match.span(), cost)
    for match in _TWO_SEATS.finditer(line):
        width, bsd, bsd2 = (int(number) for number in match.groups())
        if _exists(width, width, bsd, bsd2) and pair_stands(line, *match.span()):
            yield _marking((width, width), (bsd, bsd2), match.span(), 0)


def _exists(low: int, high: int, bsd: int, bsd2: int) -> bool:
    if bsd2 and bsd2 not in seats():
        return False
    return is_tyre(low, bsd) and is_tyre(high, bsd)


def _french(line: str) -> Iterator[Marking]:
    for match in _FRENCH.finditer(line):
        low, high, letter = int(match[2]), int(match[4]), match[5] or match[3] or ""
        if not low < high or not name_stands(line, *match.span()):
            continue
        presumed = "C" if match[1] == "700" and not letter else letter
        found = [bsd for bsd in french_seats(int(match[1]), presumed) if is_tyre(high, bsd)]
        for bsd in found:
            text = f"{match[1]}x{low}/{high}{letter}"
            cost = round(log(len(found)), 2)
            yield _marking((low, high), (bsd, 0), match.span(), cost, text)


def _inch(line: str) -> Iterator[Marking]:
    for match in _INCH.finditer(line):
        printed = diameter(match[1])
        low, high = (match[i].replace(",", ".") for i in (2, 3))
        if not float(low) < float(high) or not name_stands(line, *match.span()):
            continue
        for bsd in _decimal_seats(printed, float(low)):
            text = f"{printed}x{low}/{high}"
            yield _marking((_mm(low), _mm(high)), (bsd, 0), match.span(), 0, text)


@lru_cache(maxsize=256)
def _decimal_seats(printed: str, width: float) -> tuple[int, ...]:
    """Bead seats whose decimal family, not only one size, holds this width in inches."""
    return tuple(
        row.bsd
        for row in names("inch_decimal")
        if row.diameter == printed and not row.widths and row.low <= width <= row.high
    )


def _mm(width: str) -> int:
    for row in tables().inch_rows:
        if row.style == "decimal" and float(row.text) == float(width):
            return round(row.tyre_mm)
    return round(float(width) * INCH)


def damaged(line: str) -> Iterator[Marking]:
    """Damaged ranges of a folded text, one bead seat diameter each."""
    for match in _DAMAGED.finditer(line):
        span = match.start(), match.end(5)
        seen = match.group(1, 3, 5)
        if sum(map(str.isdigit, "".join(seen))) < 5:  # of seven; fewer could be any numbers
            continue
        if not pair_stands(line, *span) or not word_stands(line, *span):
            continue
        extra = (0.0 if match[2] == "/" else ALIKE) + (0.0 if match[4] == "-" else ALIKE)
        found: dict[tuple[int, int, int], float] = {}
        for bsd, cost in meant(seen[2], common_seats()).items():
            usual = [f"{width:g}" for width in usual_tyre_widths(int(bsd))]
            for low, more in meant(seen[0], usual).items():
                for high, most in meant(seen[1], usual).items():
                    if int(low) < int(high) and 0 < extra + cost + more + most <= BUDGET:
                        found[int(low), int(high), int(bsd)] = extra + cost + more + most
        for (first, last, seat), cost in pinned(found).items():
            yield _marking((first, last), (seat, 0), span, cost)


def _marking(
    widths: tuple[int, int],
    bsds: tuple[int, int],
    span: tuple[int, int],
    cost: float,
    text: str = "",
) -> Marking:
    low, high = widths
    numbers = {
        "width_min_mm": low,
        "width_max_mm": high,
        "bsd_mm": bsds[0],
        "bsd2_mm": bsds[1],
    }
    if not text:
        text = f"{low}-" if low == high else f"{low}/{high}-"
        text += f"{bsds[0]}/{bsds[1]}" if bsds[1] else f"{bsds[0]}"
    return Marking(NAME, text, numbers, span, float(cost))


def _asks(numbers: Numbers) -> SeatsAsked:
    return SeatsAsked(int(numbers["bsd_mm"]), int(numbers.get("bsd2_mm", 0)))


NOTATION = Notation(
    name=NAME,
    kind=Kind.TUBE,
    tells=Tells.PAIR,
    label="tube label",
    title="tube range",
    clean=clean,
    damaged=damaged,
    asks=_asks,
)
find = NOTATION.find
