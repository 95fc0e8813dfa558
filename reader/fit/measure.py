"""A size from a tape measure: around or across a bare rim, or over the tyre."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from reader.errors import InputError
from reader.records import Size
from reader.tables import Tables

FLANGES = (12.0, 3.0)  # mm that the rim's edge stands above the bead seats, both sides; from memory
TAPE_AROUND = 3.0  # mm, one sigma of a tape round a wheel; common practice, no source
TAPE_ACROSS = 2.0  # mm, one sigma of a rule across it
TYRE_SPREAD = 0.012  # one sigma of real tyres about BSD + 2 x width; half the lists' 2.5 %
KEEP = 3.0  # sigmas within which a size stays a candidate
EXAMPLE = "write for example '1995 mm around', '634 mm across' or '78.5 in around'"
_TEXT = re.compile(
    r"\s*(-?\d+(?:[.,]\d+)?)\s*(mm|cm|in|inch|inches|\")?\s*(around|across)?\s*", re.IGNORECASE
)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}


@dataclass(frozen=True)
class Taped:
    """A measurement turned into a diameter in mm with its one-sigma error."""

    diameter: float
    sigma: float
    how: str  # 'around' or 'across'


@dataclass(frozen=True)
class Match:
    """A size that a measurement can mean: expected and measured diameter in mm, and its share."""

    size: Size
    expected: float
    sigma: float
    share: float
    from_memory: bool


def parse_taped(text: str, error_mm: float | None = None) -> Taped:
    """A measurement from text: number, unit (mm if none), and 'around' or 'across'.

    Without the word, 900 mm and more is taken as around; less is too ambiguous to guess.

    Args:
        error_mm: the tape's own error, one sigma, where better known.

    Raises:
        InputError: not a measurement, not the size of a wheel, or around and across unclear.

    >>> taped = parse_taped('1995 mm around')
    >>> round(taped.diameter, 1), round(taped.sigma, 1)
    (635.0, 1.0)
    """
    match = _TEXT.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no measurement", EXAMPLE)
    value = float(match[1].replace(",", ".")) * _MM[(match[2] or "mm").lower()]
    how = (match[3] or ("around" if value >= 900 else "")).lower()
    if not how:
        raise InputError(f"is '{text}' taken around or across", EXAMPLE)
    if error_mm is not None and not 0 < error_mm < 100:
        raise InputError(f"an error of {error_mm:g} mm", "give more than 0, for example 3")
    around = how == "around"
    error = error_mm or (TAPE_AROUND if around else TAPE_ACROSS)
    diameter, sigma = (value / math.pi, error / math.pi) if around else (value, error)
    if not 90 <= diameter <= 900:
        raise InputError(f"'{text}' is no wheel: {diameter:.0f} mm across", EXAMPLE)
    return Taped(diameter, sigma, how)


def from_rim(taped: Taped, tables: Tables, market: str = "world") -> tuple[Match, ...]:
    """Bead seat diameters that a bare rim, taped over its outer edge, can have; likeliest first.

    The edge stands 12 mm +- 3 mm (both sides, one sigma, from memory) above the bead seats. Sizes
    a few mm apart are not told apart that way: read the mark, or try a tyre of known size.

    >>> from reader.tables import load_tables
    >>> found = from_rim(parse_taped('634 mm across'), load_tables())
    >>> found[0].size.bsd, 0.5 < found[0].share < 1
    (622, True)
    """
    sigma = math.hypot(taped.sigma, FLANGES[1])
    guesses = [
        (Size(bsd), bsd + FLANGES[0], sigma, tables.prior(bsd, market)) for bsd in tables.bsds
    ]
    return _matches(taped.diameter, guesses, tables)


def from_tyre(
    taped: Taped, tables: Tables, width: float | None = None, market: str = "world"
) -> tuple[Match, ...]:
    """Sizes that an inflated tyre, taped over its tread, can have; likeliest first.

    Args:
        width: the tyre's nominal or measured width in mm; narrows the answer much.

    >>> from reader.tables import load_tables
    >>> found = from_tyre(parse_taped('1890 around'), load_tables(), width=47)
    >>> str(found[0].size)
    '47-507'
    """
    guesses = []
    for bsd in tables.bsds:
        listed = tables.tyre_widths_at(bsd)
        widths = listed if width is None else tuple(w for w in listed if abs(w - width) <= 3)
        for nominal in widths:
            expected = bsd + 2 * nominal
            closeness = 0.0 if width is None else -0.5 * ((nominal - width) / 1.5) ** 2
            weight = tables.width_weight["tyre", nominal] * math.exp(closeness)
            sigma = math.hypot(taped.sigma, TYRE_SPREAD * expected)
            guesses.append(
                (Size(bsd, nominal), expected, sigma, tables.prior(bsd, market) * weight)
            )
    return _matches(taped.diameter, guesses, tables)


def _matches(
    diameter: float, guesses: list[tuple[Size, float, float, float]], tables: Tables
) -> tuple[Match, ...]:
    scored = [
        (
            size,
            expected,
            sigma,
            prior * math.exp(-0.5 * ((diameter - expected) / sigma) ** 2) / sigma,
        )
        for size, expected, sigma, prior in guesses
        if abs(diameter - expected) <= KEEP * sigma
    ]
    total = sum(score for *_, score in scored)
    return tuple(
        Match(size, expected, sigma, score / total, tables.seat[size.bsd].from_memory)
        for size, expected, sigma, score in sorted(scored, key=lambda one: -one[3])
    )
