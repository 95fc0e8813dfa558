"""Drawings to scale as SVG: the tyre's section on the rim, and neighbouring bead seats.

Colours and type come from the page's style sheet by class. The section's measures come from
`reader.fit.section`; hooks and beads are hinted at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from reader.fit.section import Section

CASING = 2.4  # mm, thickness of the line that stands for it
WALL = 1.7  # mm, floor of the rim's well
MARGIN = 16.0  # mm around the section, for the figures
NEAR = 12  # mm to either side that the ruler of bead seats shows at least
MOST = 8  # bead seats on it, so that they can be read on a phone
FAR = 60  # mm: a second diameter beyond that is not put on it
RULER = (
    150.0  # half its length, and LINE, BLOCK: where it lies and how high a label is, in its units
)
LINE, BLOCK = 16.0, 62.0


def section_svg(drawn: Section, nominal: float, rim_kind: str = "") -> Markup:
    """The section of a tyre on a rim.

    Args:
        drawn: its measures, mm.
        nominal: the tyre's nominal width, mm; a differing one on this rim is noted beside it.
        rim_kind: '', C, SS, TSS, TC: hooks are drawn for all but the straight sides.
    """
    half = max(drawn.tyre_width, drawn.rim_outer) / 2 + MARGIN
    top = drawn.tyre_height + CASING + MARGIN * 0.8
    below = drawn.well_depth + WALL
    wide = drawn.tyre_width / 2
    width = f"about {drawn.tyre_width:.0f} mm"
    parts = [
        _rim(drawn, hooked=rim_kind not in ("SS", "TSS")),
        _tyre(drawn),
        _measure(-wide, wide, 7.5 - top, width, above=True),
        _measure(-drawn.rim_inner / 2, drawn.rim_inner / 2, below + 4, _inside(drawn), above=False),
    ]
    title = f"Section to scale: tyre {nominal:g} mm on a rim {drawn.rim_inner:g} mm wide inside"
    box = f"{-half:.1f} {-top:.1f} {2 * half:.1f} {top + below + MARGIN:.1f}"
    return _svg(title, box, "section", parts)


def _inside(drawn: Section) -> str:
    return f"{drawn.rim_inner:g} mm inside"


def _tyre(drawn: Section) -> Markup:
    points = " ".join(f"{x:.2f},{-y:.2f}" for x, y in drawn.outline)
    (left, _), (right, _) = drawn.outline[0], drawn.outline[-1]
    beads = "".join(
        f'<circle class="bead" cx="{x:.2f}" cy="-1.2" r="1.9"></circle>'
        for x in (left + 1.9, right - 1.9)
    )
    return Markup(f'<polyline class="casing" points="{points}" stroke-width="{CASING}"/>{beads}')


def _rim(drawn: Section, hooked: bool) -> Markup:
    inner, outer = drawn.rim_inner / 2, drawn.rim_outer / 2
    flange, deep = drawn.flange_height, drawn.well_depth
    hook = 1.0 if hooked else 0.0
    well = max(inner - 5, inner * 0.4)
    side = (
        f"M{inner - hook:.2f},{-flange:.2f} H{outer:.2f} V{deep + WALL:.2f} H{-outer:.2f} "
        f"V{-flange:.2f} H{-inner + hook:.2f} v1.6 h{-hook:.2f} V0 H{-well:.2f} l2,{deep:.2f} "
        f"H{well - 2:.2f} L{well:.2f},0 H{inner:.2f} V{-flange + 1.6:.2f} h{-hook:.2f} Z"
    )
    return Markup(f'<path class="rim" d="{side}"></path>')


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


@dataclass(frozen=True)
class _Label:
    """A seat's label: its line starts at `x` on the ruler, the text's middle stands at `at`."""

    seat: Seat
    x: float
    at: float
    width: float
    row: int


def seats_svg(bsd: int, seats: Sequence[Seat], other: int | None = None) -> Markup:
    """A ruler of bead seat diameters around one, to scale, in mm.

    Args:
        bsd: the one that is asked about, mm.
        seats: all known ones, any order; at most `MOST` close by are shown.
        other: a second one that is compared with it, marked too if it is near, mm.
    """
    span = _span(bsd, [seat.bsd for seat in seats], other)
    inside = [seat for seat in seats if abs(seat.bsd - bsd) <= span]
    inside.sort(key=lambda seat: min(abs(seat.bsd - one) for one in (bsd, other or bsd)))
    near = sorted(inside[:MOST], key=lambda seat: seat.bsd)
    scale = RULER / span
    labels = _labels(near, bsd, scale)
    parts = [Markup(f'<path class="measure" d="M{-RULER},{LINE} H{RULER}"></path>')]
    parts += [_tick(one, one.seat.bsd in (bsd, other), one.seat.bsd - bsd) for one in labels]
    title = f"Bead seat diameters near {bsd} mm, to scale"
    side = max([RULER + 40, *(abs(one.at) + one.width / 2 for one in labels)])
    high = LINE + 26 + (1 + max((one.row for one in labels), default=-1)) * BLOCK
    box = f"{-side} 0 {2 * side} {high}"
    return _svg(title, box, "ruler", parts)


def _span(bsd: int, known: Sequence[int], other: int | None) -> int:
    """How far the ruler reaches, mm: a near neighbour on it, and the other one if not too far."""
    apart = sorted(abs(one - bsd) for one in known if one != bsd)
    span = max(NEAR, apart[0] + 2 if apart else 0)
    return max(span, abs(other - bsd) + 2) if other and abs(other - bsd) <= FAR else span


def _labels(near: Sequence[Seat], bsd: int, scale: float) -> list[_Label]:
    """Where the labels stand: none on another, and no line of the lower row through one.

    Side by side in one row, or where that is too wide every other one in a lower row. Leftmost
    and rightmost places both keep all distances, so their mean does, too.
    """
    xs = [(seat.bsd - bsd) * scale for seat in near]
    widths = [max(52.0, len(seat.name) * 7.6) + 8 for seat in near]
    rows = 1 if sum(widths) <= 2 * (RULER + 40) else 2
    right = _pushed(xs, widths, rows)
    left = [-x for x in _pushed([-x for x in xs[::-1]], widths[::-1], rows, len(xs) - 1)[::-1]]
    return [
        _Label(seat, x, (one + other) / 2, width, place % rows)
        for place, (seat, x, one, other, width) in enumerate(
            zip(near, xs, left, right, widths, strict=True)
        )
    ]


def _pushed(xs: Sequence[float], widths: Sequence[float], rows: int, last: int = 0) -> list[float]:
    """Places no further left than `xs`, each pushed right by those before it.

    `last` is the place of the first one in the row order, where that is counted from the end.
    """
    out: list[float] = []
    for k, x in enumerate(xs):
        at = x
        if k >= rows:
            at = max(at, out[k - rows] + (widths[k - rows] + widths[k]) / 2)
        if rows == 2 and k:  # a line of the lower row passes beside the label of the upper one
            upper = k if abs(last - k) % 2 == 0 else k - 1
            at = max(at, out[k - 1] + widths[upper] / 2)
        out.append(at)
    return out


def _tick(label: _Label, own: bool, apart: int) -> Markup:
    kind = "own" if own else "other"
    at, base = label.at, LINE + 32 + label.row * BLOCK
    gap = f"{apart:+d} mm".replace("-", "−") if apart else "this one"
    bend = f"V{LINE + 3:.1f} L{at:.1f},{LINE + 12:.1f}"
    line = f"M{label.x:.1f},{LINE - 10} {bend} V{base - 17:.1f}"
    return Markup(
        f'<path class="tick {kind}" d="{line}"></path>'
        f'<text class="figure {kind}" x="{at:.1f}" y="{base:.1f}">{label.seat.bsd}</text>'
        f'<text class="gap" x="{at:.1f}" y="{base + 15:.1f}">{gap}</text>'
        f'<text class="label" x="{at:.1f}" y="{base + 31:.1f}">{escape(label.seat.name)}</text>'
    )


def _svg(title: str, box: str, kind: str, parts: Sequence[Markup]) -> Markup:
    inside = Markup("").join(parts)
    return Markup(
        f'<svg class="{kind}" viewBox="{box}" role="img" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg">{inside}</svg>'
    )
