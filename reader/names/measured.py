"""Typed texts that give millimetres: '47-507', '622x19C', '19-622', '622'; strict.

Tyre: width-diameter (source W). Rim: diameter x width and kind, '622x19C', 'SS 400x20' (source
I2), or the numbers the other way round ('19-622', '540-20': source EXP). Magnitude tells which is
which. Such a text needs no list of widths: a person who types 39-622 has read it.
"""

from __future__ import annotations

import re
from dataclasses import replace

from reader.errors import InputError
from reader.fit.parts import EXAMPLES, check
from reader.language import N_
from reader.markings.known import french_diameters
from reader.names.meaning import Meaning
from reader.names.meanings import by_nominal
from reader.names.pairs import pair_meanings, standing
from reader.names.suggest import UnknownSize, near_diameters
from reader.records import Size
from reader.tables import Tables, inches

_DASH = "-\u2010\u2011\u2012\u2013\u2014\u2015\u2212/"
_WIDTH = r"(\d{1,3}(?:[.,]\d{1,2})?)"
_KIND = r"(?:\(?(TSS|TC|SS|HB|C)\)?)?"
_GAP = r"[\s,;]*"
_PAIR = re.compile(rf"{_WIDTH}\s*(?:mm)?\s*[{_DASH}]\s*(\d{{3}}|9[34])\s*(?:mm)?", re.IGNORECASE)
_RIM = re.compile(
    rf"{_KIND}{_GAP}(\d{{3}})\s*(?:mm)?\s*[x×*]\s*{_WIDTH}\s*(?:mm)?{_GAP}{_KIND}", re.IGNORECASE
)
_TURNED = re.compile(rf"(\d{{3}})\s*[{_DASH}]\s*(\d\d(?:[.,]\d{{1,2}})?){_GAP}{_KIND}", re.I)
_WIDE_RIM = re.compile(
    rf"{_WIDTH}\s*{_KIND}\s*[{_DASH}x×*]\s*(\d{{3}})\s*(?:mm)?{_GAP}{_KIND}", re.IGNORECASE
)
_SEAT = re.compile(r"(?:\?\s*[-x]\s*)?(\d{2,3})(?:\s*[x-]\s*\?|\s*mm)?", re.IGNORECASE)
_NOMINAL = re.compile(
    r"(\d{1,3}(?:[.,]5|\s*1/2|\s*½)?)\s*(?:\"|''|″|”|in|inch|inches|zoll)?", re.IGNORECASE
)
USUAL_RIM = 35.0  # mm inside: a wider number behind a diameter is a tyre's, the wrong way round


def measured(text: str, tables: Tables, market: str) -> tuple[Meaning, ...]:
    """What a pair of millimetres means, on a tyre or a rim; () if the text is no such pair.

    Raises:
        InputError: a diameter that no table knows, an impossible width, two kinds of rim.

    >>> from reader.tables import load_tables
    >>> found = measured("622x19c", load_tables(), "world")
    >>> found[0].part, str(found[0].size), found[0].edge
    ('rim', '19-622', 'C')
    """
    match = _PAIR.fullmatch(text)
    if match and not _french(match[2], tables):
        return _pair(int(match[2]), _mm(match[1]), "pair", "", tables, market)
    match = _RIM.fullmatch(text)
    if match and _rim_is_meant(match):
        kind = _one_kind(text, match[1], match[4])
        return _pair(int(match[2]), _mm(match[3]), "rim", kind, tables, market)
    match = _TURNED.fullmatch(text)
    if match and not _french(match[1], tables):
        return _turned(text, match, tables, market)
    match = _WIDE_RIM.fullmatch(text)
    if match and (match[2] or match[4] or match[3] not in french_diameters()):
        kind = _one_kind(text, match[2], match[4])
        return _pair(int(match[3]), _mm(match[1]), "rim", kind, tables, market)
    return ()


def diameter(text: str, tables: Tables, market: str) -> tuple[Meaning, ...]:
    """What a diameter alone means: a bead seat diameter in mm, or a nominal one; () if it is none.

    Raises:
        InputError: a number that no table knows as a diameter.

    >>> from reader.tables import load_tables
    >>> [str(one.size) for one in diameter("622", load_tables(), "world")]
    ['?-622']
    """
    seat, named = _SEAT.fullmatch(text), _NOMINAL.fullmatch(text)
    found: tuple[Meaning, ...] = ()
    if seat and int(seat[1]) in tables.seat:
        row = tables.seat[int(seat[1])]
        why = N_(f"{row.bsd} mm is a bead seat diameter")
        found = (Meaning(Size(row.bsd), "unknown", 1.0, why, row.source, standing(row)),)
    elif named:
        found = by_nominal(inches(_plain(named[1])), tables, market)
        if not found and len(named[1]) == 3 and text.isdigit():
            raise near_diameters(int(text), tables)
        if not found:
            raise UnknownSize(text, ())
    return found


def _plain(number: str) -> str:
    return number.replace(",", ".").replace("½", " 1/2").replace(" 1/2", ".5").replace("1/2", ".5")


def _mm(text: str) -> float:
    return float(text.replace(",", "."))


def _french(diameter: str, tables: Tables) -> bool:
    """Whether it can only be a French outer diameter: '700-35C' is no rim of 700 mm."""
    return diameter in french_diameters() and int(diameter) not in tables.seat


def _rim_is_meant(match: re.Match[str]) -> bool:
    """A French diameter ('400x20', '700x28C') is none of a rim, unless a rim's kind stands by."""
    kinds = {(match[1] or "").upper(), (match[4] or "").upper()} - {"", "C"}
    return (match[2] not in french_diameters() and int(match[2]) % 50 != 0) or bool(kinds)


def _one_kind(text: str, before: str | None, after: str | None) -> str:
    first, second = (before or "").upper(), (after or "").upper()
    if first and second and first != second:
        raise InputError(f"'{text}' names two kinds of rim", EXAMPLES)
    return first or second


def _turned(text: str, match: re.Match[str], tables: Tables, market: str) -> tuple[Meaning, ...]:
    """Diameter, dash, width: as some rims are marked; a tyre's pair is never written so."""
    bsd, width = int(match[1]), _mm(match[2])
    if bsd in tables.seat and width > USUAL_RIM:
        raise InputError(f"'{text}' has the diameter first", f"did you mean {width:g}-{bsd}?")
    kind = _one_kind(text, match[3], None)
    return _pair(bsd, width, "rim", kind, tables, market)


def _pair(
    bsd: int, width: float, order: str, kind: str, tables: Tables, market: str
) -> tuple[Meaning, ...]:
    check(Size(bsd, width))
    if bsd not in tables.seat:
        raise near_diameters(bsd, tables)
    found = pair_meanings(width, bsd, order, tables, market, kind)
    if kind:
        found = tuple(one for one in found if one.part == "rim")
    if not found:
        raise InputError(
            f"{width:g} mm is no width of a {'rim' if kind or order == 'rim' else 'tyre or rim'}",
            EXAMPLES,
        )
    whole = sum(one.share for one in found)
    return tuple(replace(one, share=one.share / whole) for one in found)
