"""A size from a tape measure: on a bare rim or over the tyre.

Ways to take it: around (over the outer edge or the tread), across, seat (a thin tape laid round the
bead seat itself), hub (from the middle of the axle to the bead seat).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from reader.errors import InputError
from reader.records import Size
from reader.tables import Tables, inches
from reader.text.units import INCH

FLANGES = (12.0, 3.0)  # mm that the rim's edge stands above the bead seats, both sides; from memory
TAPE_AROUND = 3.0  # mm, one sigma of a tape round a wheel; common practice, no source
TAPE_ACROSS = 2.0  # mm, one sigma of a rule across it
TYRE_SPREAD = 0.012  # one sigma of real tyres about BSD + 2 x width; half the lists' 2.5 %
KEEP = 3.0  # sigmas within which a size stays a candidate
TAPE_HUB = 1.0  # mm, one sigma of a rule from axle to seat; common practice, no source
SEAT_TOLERANCE = 0.5  # mm of a rim's bead seat diameter; from memory
EXAMPLE = (
    "write for example '1995 mm around', '634 mm across', '78 1/2 in around', '1954 mm round the "
    "bead seat' or '311 mm hub to seat'"
)
_TEXT = re.compile(
    r"\s*(-?\d+(?:[.,]\d+)?|\d+ \d+/\d+|\d+/\d+)\s*(mm|cm|inches|inch|in|\")?\s*"
    r"(a?round(?: the)? bead ?seat|bead ?seat|seat|hub(?: to)?(?: the)?(?: bead)? ?seat|hub"
    r"|around|round|across)?\s*",
    re.IGNORECASE,
)
_WAYS = {  # one sigma in mm as taken, and what turns it into a diameter
    "around": (TAPE_AROUND, 1 / math.pi),
    "seat": (TAPE_AROUND, 1 / math.pi),
    "across": (TAPE_ACROSS, 1.0),
    "hub": (TAPE_HUB, 2.0),
}
_MM = {"mm": 1.0, "cm": 10.0} | dict.fromkeys(("in", "inch", "inches", '"'), INCH)


@dataclass(frozen=True)
class Taped:
    """A measurement turned into a diameter in mm with its one-sigma error.

    `taken` is what the tape showed, in mm, and `error` how far it may be off there: what is printed
    after 'give or take', two sigmas.
    """

    diameter: float
    sigma: float
    how: str  # 'around', 'across', 'seat' or 'hub'
    taken: float
    error: float

    @property
    def at_seat(self) -> bool:
        """Whether the bead seat itself was measured, so that the rim's edge plays no part."""
        return self.how in ("seat", "hub")


@dataclass(frozen=True)
class Match:
    """A size that a measurement can mean: expected and measured diameter in mm, and its share."""

    size: Size
    expected: float
    sigma: float
    share: float
    from_memory: bool


def parse_taped(text: str, error_mm: float | None = None) -> Taped:
    """A measurement from text: number, unit (mm if none), and how it was taken.

    Without the word, 900 mm and more is taken as around; less is too ambiguous to guess.

    Args:
        error_mm: how far the tape may be off, mm, as 'give or take' prints it, where better known.

    Raises:
        InputError: not a measurement, not the size of a wheel, or the way it was taken unclear.

    >>> taped = parse_taped('1995 mm around')
    >>> round(taped.diameter, 1), round(taped.sigma, 1)
    (635.0, 1.0)
    >>> parse_taped('311 mm hub to seat').diameter, round(parse_taped('77 in seat').diameter)
    (622.0, 623)
    """
    match = _TEXT.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no measurement", EXAMPLE)
    value = inches(match[1].replace(",", ".")) * _MM[(match[2] or "mm").lower()]
    how = _way(match[3] or ("around" if value >= 900 else ""))
    if not how:
        raise InputError(f"was '{text}' taken around or across", EXAMPLE)
    if error_mm is not None and not 0 < error_mm < 100:
        raise InputError(f"an error of {error_mm:g} mm", "give more than 0, for example 3")
    sigma, share = _WAYS[how]
    error = error_mm or 2 * sigma
    diameter = value * share
    if not 90 <= diameter <= 900:
        raise InputError(f"'{text}' is no wheel: {diameter:.0f} mm across", EXAMPLE)
    return Taped(diameter, error / 2 * share, how, value, error)


def _way(words: str) -> str:
    lower = words.lower()
    if "hub" in lower:
        return "hub"
    if "seat" in lower:
        return "seat"
    return "around" if "round" in lower else lower


def from_rim(taped: Taped, tables: Tables, market: str = "world") -> tuple[Match, ...]:
    """Bead seat diameters that a bare rim, taped over its outer edge, can have; likeliest first.

    Taken at the bead seat (a thin tape round it, or a rule from the axle) it is the diameter
    itself, give or take a rim's own tolerance (0.5 mm, from memory). Otherwise the edge stands
    12 mm +- 3 mm (both sides, one sigma, from memory) above the bead seats. Sizes a few mm apart
    are not told apart that way: read the mark, or try a tyre of known size.

    >>> from reader.tables import load_tables
    >>> found = from_rim(parse_taped('634 mm across'), load_tables())
    >>> found[0].size.bsd, 0.5 < found[0].share < 1
    (622, True)
    """
    edge, spread = (0.0, SEAT_TOLERANCE) if taped.at_seat else FLANGES
    sigma = math.hypot(taped.sigma, spread)
    guesses = [(Size(bsd), bsd + edge, sigma, tables.prior(bsd, market)) for bsd in tables.bsds]
    return _matches(taped.diameter, guesses, tables)


def from_tyre(
    taped: Taped, tables: Tables, width: float | None = None, market: str = "world"
) -> tuple[Match, ...]:
    """Sizes that an inflated tyre, taped over its tread, can have; likeliest first.

    Args:
        width: the tyre's nominal or measured width in mm; narrows the answer much.

    Raises:
        InputError: the tape was laid at a bead seat, which only a bare rim shows.

    >>> from reader.tables import load_tables
    >>> found = from_tyre(parse_taped('1890 around'), load_tables(), width=47)
    >>> str(found[0].size)
    '47-507'
    """
    if taped.at_seat:
        raise InputError("a bead seat is measured on a bare rim", "give it as a rim's measure")
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
