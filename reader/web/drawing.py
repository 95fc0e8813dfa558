"""Drawings to scale as SVG: the tyre's section on the rim, and neighbouring bead seats.

Colours and type come from the page's style sheet by class. The tyre is drawn as a circle of its
width through both beads, the rim as a plain box: widths and heights are to scale, the shapes of
edge and bead are not. Flange height and wall are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

FLANGE = 6.0  # mm above the bead seat
WALL = 1.8  # mm
WELL = 4.5  # mm below the bead seat
CASING = 2.4  # mm
MARGIN = 16.0  # mm around the section, for the figures
NEAR = 12  # mm to either side that the ruler of bead seats shows at least
FAR = 60  # mm: a second diameter beyond that is not put on it
RULER = 150.0  # half its length, and LINE, BLOCK: where it lies and how high a label is, in its units
LINE, BLOCK = 16.0, 62.0


@dataclass(frozen=True)
class Section:
    """Where the tyre stands on the rim, in mm; the origin lies between the beads, y upwards."""

    tyre: float  # section width
    rim: float  # inner width

    @property
    def radius(self) -> float:
        """Of the circle through both beads; a tyre narrower than the rim is drawn stretched."""
        return max(self.tyre, self.rim) / 2

    @property
    def centre(self) -> float:
        """Height of the circle's centre above the bead seat."""
        return math.sqrt(max(self.radius**2 - (self.rim / 2) ** 2, 0.0))

    @property
    def height(self) -> float:
        """Of the tyre above the bead seat."""
        if self.tyre < self.rim:
            return self.tyre / 2
        return self.centre + self.radius


def section_svg(tyre: float, rim: float, rim_kind: str = "") -> Markup:
    """The section of a tyre on a rim.

    Args:
        tyre: section width, mm.
        rim: inner width, mm.
        rim_kind: '', C, SS, TSS, TC: hooks are drawn for all but the straight sides.
    """
    shape = Section(tyre, rim)
    half = max(shape.radius, rim / 2 + WALL) + MARGIN
    top, bottom = shape.height + CASING + MARGIN * 0.8, WELL + WALL + MARGIN
    parts = [_rim(rim, hooked=rim_kind not in ("SS", "TSS")), _tyre(shape)]
    parts.append(_across(0, shape.radius if tyre >= rim else tyre / 2, shape, top))
    parts.append(_width_below(rim))
    title = f"Section to scale: tyre {tyre:g} mm wide on a rim {rim:g} mm wide inside"
    box = f"{-half:.1f} {-top:.1f} {2 * half:.1f} {top + bottom:.1f}"
    return _svg(title, box, "section", parts)


def _tyre(shape: Section) -> Markup:
    left, right = -shape.rim / 2, shape.rim / 2
    if shape.tyre < shape.rim:
        arc = f"M{left:.2f},0 A{shape.radius:.2f},{shape.height:.2f} 0 0 1 {right:.2f},0"
    else:
        arc = f"M{left:.2f},0 A{shape.radius:.2f},{shape.radius:.2f} 0 1 1 {right:.2f},0"
    bead = '<circle class="bead" cx="{}" cy="-1.2" r="1.9"></circle>'
    beads = bead.format(f"{left + 1.9:.2f}") + bead.format(f"{right - 1.9:.2f}")
    return Markup(f'<path class="casing" d="{arc}" stroke-width="{CASING}"></path>{beads}')


def _rim(width: float, hooked: bool) -> Markup:
    inner, outer = width / 2, width / 2 + WALL
    hook = 1.0 if hooked else 0.0
    well = max(width / 2 - 5, width / 5)
    side = (
        f"M{inner - hook:.2f},{-FLANGE:.2f} H{outer:.2f} V{WELL + WALL:.2f} H{-outer:.2f} "
        f"V{-FLANGE:.2f} H{-inner + hook:.2f} v1.6 h{-hook:.2f} V0 H{-well:.2f} l2,{WELL:.2f} "
        f"H{well - 2:.2f} L{well:.2f},0 H{inner:.2f} V{-FLANGE + 1.6:.2f} h{-hook:.2f} Z"
    )
    return Markup(f'<path class="rim" d="{side}"></path>')


def _across(middle: float, half: float, shape: Section, top: float) -> Markup:
    y = -top + 7.5
    return _measure(middle - half, middle + half, y, f"{shape.tyre:g} mm", above=True)


def _width_below(rim: float) -> Markup:
    return _measure(-rim / 2, rim / 2, WELL + WALL + 4, f"{rim:g} mm inside", above=False)


def _measure(start: float, end: float, y: float, text: str, above: bool) -> Markup:
    label = y - 1.8 if above else y + 6.2
    return Markup(
        f'<path class="measure" d="M{start:.2f},{y - 1.6:.2f} v3.2 m0,-1.6 H{end:.2f} '
        f'm0,-1.6 v3.2"></path>'
        f'<text class="figure" x="{(start + end) / 2:.2f}" y="{label:.2f}">{escape(text)}</text>'
    )


@dataclass(frozen=True)
class Seat:
    """A bead seat diameter on the ruler; `name` is its best-known other name."""

    bsd: int
    name: str = ""


def seats_svg(bsd: int, seats: Sequence[Seat], other: int | None = None) -> Markup:
    """A ruler of bead seat diameters around one, to scale, in mm.

    Args:
        bsd: the one that is asked about, mm.
        seats: all known ones, any order; those close by are shown.
        other: a second one that is compared with it, marked too if it is near, mm.
    """
    span = _span(bsd, [seat.bsd for seat in seats], other)
    near = sorted((s for s in seats if abs(s.bsd - bsd) <= span), key=lambda seat: seat.bsd)
    scale = RULER / span
    rows: list[float] = []  # right end of the last label in each row
    parts = [Markup(f'<path class="measure" d="M{-RULER},{LINE} H{RULER}"></path>')]
    for seat in near:
        x = (seat.bsd - bsd) * scale
        width = max(46.0, len(seat.name) * 7.6) + 8
        row = next((n for n, end in enumerate(rows) if end <= x - width / 2), len(rows))
        rows[row : row + 1] = [x + width / 2]
        parts.append(_tick(seat, x, row, seat.bsd in (bsd, other), seat.bsd - bsd))
    title = f"Bead seat diameters near {bsd} mm, to scale"
    side = RULER + 40
    box = f"{-side} 0 {2 * side} {LINE + 26 + len(rows) * BLOCK}"
    return _svg(title, box, "ruler", parts)


def _span(bsd: int, known: Sequence[int], other: int | None) -> int:
    """How far the ruler reaches, mm: a near neighbour on it, and the other one if not too far."""
    apart = sorted(abs(one - bsd) for one in known if one != bsd)
    span = max(NEAR, apart[0] + 2 if apart else 0)
    return max(span, abs(other - bsd) + 2) if other and abs(other - bsd) <= FAR else span


def _tick(seat: Seat, x: float, row: int, own: bool, apart: int) -> Markup:
    kind = "own" if own else "other"
    base = LINE + 32 + row * BLOCK
    gap = f"{apart:+d} mm".replace("-", "−") if apart else "this one"
    return Markup(
        f'<path class="tick {kind}" d="M{x:.1f},{LINE - 10} V{base - 17:.1f}"></path>'
        f'<text class="figure {kind}" x="{x:.1f}" y="{base:.1f}">{seat.bsd}</text>'
        f'<text class="gap" x="{x:.1f}" y="{base + 15:.1f}">{gap}</text>'
        f'<text class="label" x="{x:.1f}" y="{base + 31:.1f}">{escape(seat.name)}</text>'
    )


def _svg(title: str, box: str, kind: str, parts: Sequence[Markup]) -> Markup:
    inside = Markup("").join(parts)
    return Markup(
        f'<svg class="{kind}" viewBox="{box}" role="img" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg">{inside}</svg>'
    )
