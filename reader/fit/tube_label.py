"""What is printed on tubes and their boxes: widths, diameters, valve and its length.

Forms read (shops, magazines and a sports chain's help page, see tube_labels.csv): '37/57-559',
'28/47-622/635', '32-47/622-635', '700 x 20-25', '700X23/32', '26 x 1.75-2.4', '27,5X1,90/2,50',
'650b x 1.75-2.4 or 27.5 x 1.75-2.4', '28 to 47 mm (28 inch)', '57-559 SV 36 mm'.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from reader.errors import InputError
from reader.fit.parts import check
from reader.records import Size
from reader.tables import Tables, inches, load_tables
from reader.text.units import INCH

EXAMPLE = "write for example 37/57-559, 700 x 28-47 or 26 x 1.75-2.4, with or without the valve"
VALVES = {  # short marks and words on labels (sources TDO, XJD, WNL)
    "presta": ("sv", "fv", "presta", "sclaverand", "french"),
    "schrader": ("av", "schrader", "american", "auto"),
    "dunlop": ("dv", "dl", "dunlop", "woods", "blitz", "english", "dutch"),
}
USUAL = 0.25  # of the likeliest meaning's weight: a rarer one makes no tube suit
_TO = r"\s*(?:/|-|\u2013|to)\s*"
_ISO_WIDTH = r"(\d{2}|1[0-3]\d)"  # three digits that are more are a diameter: 25-622/635
_ISO = re.compile(
    rf"{_ISO_WIDTH}(?:{_TO}{_ISO_WIDTH})?\s*[-\u2013/]\s*(\d{{3}})(?:\s*[/-]\s*(\d{{3}}))?"
)
_FRENCH = re.compile(
    rf"([2-7][05]0)\s*([a-d])?\s*x\s*(\d{{2}})\s*([a-d])?(?:{_TO}(?:\1\s*x\s*)?(\d{{2}})\s*([a-d])?)?",
)
_LETTERED = re.compile(rf"([2-7][05]0)([a-d])\s*x\s*(\d\.\d{{1,3}})(?:{_TO}(\d\.\d{{1,3}}))?")
_WIDTH = r"(\d\.\d{1,3}|\d \d/\d|\d)"
_INCH = re.compile(rf"(\d{{1,2}}(?:\.5)?)\"?\s*x\s*{_WIDTH}(?:{_TO}(?:\1\"?\s*x\s*)?{_WIDTH})?")
_MM = re.compile(
    rf"(\d{{2,3}})(?:{_TO}(\d{{2,3}}))?\s*mm\s*\(?(\d{{2}}(?:\.5)?)\s*(?:inch|\"|in)\)?"
)
_WORDS = "|".join(word for words in VALVES.values() for word in words)
_VALVE = re.compile(rf"\b({_WORDS})\b(?:\s*(\d{{2}})\s*(?:mm)?)?")
_HALF = re.compile(r"\b(\d{1,2}) 1/2\"?\s*x")
_REST = re.compile(r"\s|[/(),+|]|\bor\b|\bfor\b|valve|inch|29|28|27\.5")


@dataclass(frozen=True)
class Tube:
    """A tube: tyre widths in mm that it suits, the bead seat diameters that it lists, its valve.

    `valve` is 'presta', 'schrader', 'dunlop' or '' where the label does not say; its length in mm.
    """

    width_min: float
    width_max: float
    bsds: tuple[int, ...]
    valve: str = ""
    valve_mm: float | None = None


class _Range(NamedTuple):
    low: float
    high: float
    bsds: tuple[int, ...]


def parse_tube(text: str, tables: Tables | None = None) -> Tube:
    """A tube from its label; every diameter that it lists counts fully.

    Several names on one label ('650b x 1.75-2.4 or 27.5 x 1.75-2.4') are joined: all diameters, and
    the widest range. Inch widths become the mm that makers print for them.

    Raises:
        InputError: no tube's label, the wider width first, or numbers that no tube has.

    >>> parse_tube('37/57-559 SV 40 mm')
    Tube(width_min=37.0, width_max=57.0, bsds=(559,), valve='presta', valve_mm=40.0)
    >>> parse_tube('28/47-622/635').bsds, parse_tube('27,5X1,90/2,50').bsds
    ((622, 635), (584,))
    """
    line = " ".join(text.lower().replace(",", ".").replace("\u00d7", "x").split())
    line = _HALF.sub(r"\1.5 x", line)
    found = _VALVE.search(line)
    line = _VALVE.sub(" ", line, count=1)
    ranges, rest = _ranges(line, tables or load_tables())
    if not ranges or _REST.sub("", rest):
        raise InputError(f"'{text}' is no tube label", EXAMPLE)
    low, high = min(one.low for one in ranges), max(one.high for one in ranges)
    if any(one.low > one.high for one in ranges):
        raise InputError(f"'{text}' has the wider width first", EXAMPLE)
    bsds = tuple(dict.fromkeys(bsd for one in ranges for bsd in one.bsds))
    for bsd in bsds:
        check(Size(bsd, low))
        check(Size(bsd, high))
    valve = next((name for name, words in VALVES.items() if found and found[1] in words), "")
    return Tube(low, high, bsds, valve, float(found[2]) if found and found[2] else None)


def _ranges(line: str, tables: Tables) -> tuple[list[_Range], str]:
    """Every range that the line tells, and what is left of the line."""
    ranges: list[_Range] = []
    for pattern, make in (
        (_MM, _from_mm),
        (_LETTERED, _from_lettered),
        (_FRENCH, _from_french),
        (_INCH, _from_inches),
        (_ISO, _from_iso),
    ):
        for match in pattern.finditer(line):
            ranges += make(match, tables)
        line = pattern.sub(" ", line)
    return ranges, line


def _from_iso(match: re.Match[str], tables: Tables) -> Iterator[_Range]:
    low = float(match[1])
    yield _Range(low, float(match[2] or low), tuple(int(bsd) for bsd in match.groups()[2:] if bsd))


def _from_french(match: re.Match[str], tables: Tables) -> Iterator[_Range]:
    low = float(match[3])
    letter = match[2] or match[6] or match[4] or ""
    yield _Range(low, float(match[5] or low), _french_seats(match[1], letter, tables))


def _from_lettered(match: re.Match[str], tables: Tables) -> Iterator[_Range]:
    widths = [_mm(text, tables) for text in match.groups()[2:] if text]
    yield _Range(widths[0], widths[-1], _french_seats(match[1], match[2], tables))


def _french_seats(diameter: str, letter: str, tables: Tables) -> tuple[int, ...]:
    if diameter == "700" and not letter:
        letter = "c"  # as every tube so marked is meant
    if not letter:
        raise InputError(f"a tube for {diameter} without its letter", "add A, B or C as printed")
    rows = [row for row in tables.names if (row.notation, row.diameter) == ("french", diameter)]
    lettered = [row for row in rows if row.mark.lower() == letter and not row.widths]
    return tuple(dict.fromkeys(row.bsd for row in lettered if not row.doubt))


def _from_inches(match: re.Match[str], tables: Tables) -> Iterator[_Range]:
    texts = [text for text in (match[2], match[3]) if text]
    widths = [_mm(text, tables) for text in texts]
    bsds = {bsd for text in texts for bsd in _inch_seats(match[1], text, tables)}
    if not bsds:
        raise InputError(f"no tube for {match[0].strip()}: no table knows that size", EXAMPLE)
    yield _Range(widths[0], widths[-1], tuple(sorted(bsds)))


def _from_mm(match: re.Match[str], tables: Tables) -> Iterator[_Range]:
    low, high = float(match[1]), float(match[2] or match[1])
    bsds = _inch_seats(match[3], "1.75", tables)
    if match[3] == "28":
        bsds = (*bsds, 635)  # as such tubes are sold for both (from memory)
    yield _Range(low, high, tuple(sorted(set(bsds))))


def _inch_seats(diameter: str, width: str, tables: Tables) -> tuple[int, ...]:
    """Every diameter that the name usually means: a tube goes in all of them."""
    decimal = "." in width
    notation = "inch_decimal" if decimal else "inch_fraction"
    rows = [
        row
        for row in tables.names
        if row.notation == notation and row.diameter.replace(" 1/2", ".5") == diameter
    ]
    exact = [row for row in rows if width in row.widths]
    if decimal and not exact:
        exact = [row for row in rows if not row.widths and row.low <= float(width) <= row.high]
    usual = USUAL * max((tables.counted([row]) for row in exact), default=0)
    return tuple(row.bsd for row in exact if tables.counted([row]) >= usual)


def _mm(width: str, tables: Tables) -> float:
    style = "decimal" if "." in width else "fraction"
    for row in tables.inch_rows:
        if row.style == style and inches(row.text) == inches(width):
            return row.tyre_mm
    return float(round(inches(width) * INCH))
