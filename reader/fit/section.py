"""The tyre's cross-section on its rim: width on another rim, and dimensions for a drawing to scale.

The casing is taken as an arc of a circle from one bead to the other: the bead-to-bead length does
not stretch, the rim's inner width is the chord (source GEO). Figures of 0.4 (from memory) to 0.64
(one rider's tyres, source LFG) mm more section per 1 mm more rim are the other opinions; the error
bar spans them all. The nominal width holds on the measuring rim of ETRTO 2020 (source VIT).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.estimate import Estimate
from reader.fit.parts import WIDTH_RANGE, check
from reader.language import N_
from reader.records import Size
from reader.tables import load_tables

PER_RIM_MM = (0.4, 0.64)  # mm of section per mm of rim: from memory, and at most as read (LFG)
FLANGE_HEIGHT = 6.0  # mm from bead seat to the rim's outer edge, from memory
RIM_WALL = 1.7  # mm, thickness of a rim's side at its edge, from memory
WELL_DEPTH = 4.0  # mm below the bead seat, from memory


def measuring_rim(width: float) -> float:
    """Inner width in mm of the rim on which a tyre has its nominal width.

    ETRTO 2020 (source VIT); for widths that it does not list the older ISO rule (source W).

    >>> measuring_rim(28), measuring_rim(50), measuring_rim(16)
    (19.0, 25.0, 10.4)
    """
    for rule in load_tables().width_rules:
        if rule.role == "measuring" and rule.tyre_from - 0.5 <= width < rule.tyre_to + 0.5:
            return rule.rim_from
    return round((0.65 if width < 30 else 0.55) * width, 3)


def section_width(size: Size, rim_inner: float) -> Estimate:
    """Width in mm of the inflated tyre on a rim of this inner width (mm).

    Raises:
        InputError: the tyre's width is not known, or the rim's is not one of a bicycle.

    >>> str(section_width(Size(622, 28), 23))
    '30.1 mm (28.6 to 31.6)'
    """
    width = _known(size)
    _check_rim(rim_inner)
    wider = rim_inner - measuring_rim(width)
    guesses = [width + rate * wider for rate in PER_RIM_MM]
    guesses.append(_width_on(_casing(width, measuring_rim(width)), rim_inner))
    value = (min(guesses) + max(guesses)) / 2
    half = (max(guesses) - min(guesses)) / 2 + 1.0  # 1 mm: makers' tolerance, from memory
    return Estimate(
        value,
        value - half,
        value + half,
        "mm",
        N_(
            "nominal width + 0.4 to 0.64 x (rim - measuring rim), and an arc of constant casing "
            "length"
        ),
        "MEM, LFG, VIT, GEO",
        from_memory=True,
    )


@dataclass(frozen=True)
class Section:
    """Dimensions in mm for a drawing to scale; heights are above the bead seat.

    `outline` runs along the casing from the left bead to the right one: x across the wheel's
    plane, y outward, both from the middle of the rim at the bead seat. Not for making parts.
    """

    bead_seat: int
    tyre_width: float
    tyre_height: float
    rim_inner: float
    rim_outer: float
    flange_height: float
    well_depth: float
    outline: tuple[tuple[float, float], ...]
    from_memory: bool = True


def section(size: Size, rim_inner: float, points: int = 61) -> Section:
    """The cross-section of a tyre on a rim of this inner width (mm).

    Args:
        points: of the outline, at least 3.

    Raises:
        InputError: the tyre's width is not known, or the rim's is not one of a bicycle.

    >>> drawn = section(Size(622, 28), 18.2)
    >>> round(drawn.tyre_width, 1), round(drawn.tyre_height, 1), len(drawn.outline)
    (27.7, 24.3, 61)
    """
    width = _known(size)
    _check_rim(rim_inner)
    half, radius = _arc(_casing(width, measuring_rim(width)), rim_inner)
    centre = -radius * math.cos(half)
    outline = tuple(
        (radius * math.sin(angle), centre + radius * math.cos(angle))
        for angle in (
            -half + 2 * half * step / (max(points, 3) - 1) for step in range(max(points, 3))
        )
    )
    return Section(
        size.bsd,
        _width_on(_casing(width, measuring_rim(width)), rim_inner),
        centre + radius,
        rim_inner,
        rim_inner + 2 * RIM_WALL,
        FLANGE_HEIGHT,
        WELL_DEPTH,
        outline,
    )


def _known(size: Size) -> float:
    check(size)
    if size.width is None:
        raise InputError("the tyre's width is not known", "write for example 28-622")
    return size.width


def _check_rim(inner: float) -> None:
    if not WIDTH_RANGE[0] <= inner <= WIDTH_RANGE[1]:
        raise InputError(
            f"an inner width of {inner:g} mm is beyond any rim", "write for example 19"
        )


def _casing(width: float, chord: float) -> float:
    """Bead-to-bead length of a casing whose circle is `width` across on a rim `chord` wide."""
    return width * (math.pi - math.asin(min(chord / width, 1.0)))


def _arc(casing: float, chord: float) -> tuple[float, float]:
    """Half the arc's angle and its radius: chord = 2 r sin(h), casing = 2 r h."""
    if chord >= 0.999 * casing:
        raise InputError(
            f"a rim {chord:g} mm wide inside is wider than the tyre's casing is long",
            "look at both widths again",
        )
    low, high = 1e-4, math.pi - 1e-4  # sin(h) / h falls from 1 to 0 between them
    for _ in range(60):
        half = (low + high) / 2
        low, high = (half, high) if math.sin(half) / half > chord / casing else (low, half)
    return half, casing / (2 * half)


def _width_on(casing: float, chord: float) -> float:
    half, radius = _arc(casing, chord)
    return 2 * radius * (math.sin(half) if half < math.pi / 2 else 1.0)
