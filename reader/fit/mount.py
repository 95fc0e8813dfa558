"""Does this tyre go on this rim, and how safely.

Bead seat diameters must be equal: there is no near fit. Then the kinds of edge, the widths by each
published edition (the newest that speaks decides), the rules for hookless rims and the pressures
that both carry. A maker's own range overrules every table. The grade is never better than the
evidence; what must still be checked stands in `checks`.
"""

from __future__ import annotations

from dataclasses import dataclass

from reader.fit.editions import EditionWord
from reader.fit.grades import ALLOWED, Grade, worst
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.pressure import PressureRange, pressure_range
from reader.fit.widths import weigh
from reader.language import N_
from reader.tables import Tables

CAUTIONS = (
    N_("Read what the makers of tyre and rim allow; it overrules every table here."),
    N_("Pump to the lower of the two limits on tyre and rim, never above."),
    N_("If in doubt, have a qualified mechanic look at it; local rules may ask for more."),
)


@dataclass(frozen=True)
class Fit:
    """A verdict with reasons (each one sentence, the deciding one first), cautions, and checks."""

    tyre: Tyre
    rim: Rim
    grade: Grade
    reasons: tuple[str, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    pressure: PressureRange | None
    editions: tuple[EditionWord, ...] = ()


def fit(tyre: Tyre, rim: Rim, tables: Tables, use: str = "road") -> Fit:
    """Grade a tyre on a rim.

    Args:
        use: 'road' or 'off-road'; moves the recommended least pressure only.

    >>> from reader.records import Size
    >>> from reader.tables import load_tables
    >>> fit(Tyre(Size(622, 28)), Rim(Size(622, 17)), load_tables()).grade.value
    'only in older tables'
    >>> fit(Tyre(Size(590, 37)), Rim(Size(597, 19)), load_tables()).reasons[0]
    'the bead seat diameters differ: tyre 590 mm, rim 597 mm; there is no near fit'
    """
    barred = _diameter(tyre, rim, tables) or _edges(tyre, rim)
    if barred:
        return Fit(tyre, rim, Grade.NEVER, barred, (), CAUTIONS, None)
    pressure = pressure_range(tyre, rim, tables, use)
    if not pressure.possible and pressure.low and pressure.high:
        reason = N_(
            f"no pressure suits both: {pressure.low.by} asks for at least {pressure.low.kpa:.0f} "
            f"kPa, {pressure.high.by} allows at most {pressure.high.kpa:.0f} kPa"
        )
        return Fit(tyre, rim, Grade.NEVER, (reason,), (), CAUTIONS, pressure)
    return _width_fit(tyre, rim, pressure, tables)


def _diameter(tyre: Tyre, rim: Rim, tables: Tables) -> tuple[str, ...]:
    have, want = tyre.size.bsd, rim.size.bsd
    if have == want:
        return ()
    reasons = [
        N_(f"the bead seat diameters differ: tyre {have} mm, rim {want} mm; there is no near fit")
    ]
    rows = [row for row in tables.near_misses if row.bsds == {have, want}]
    reasons += dict.fromkeys(N_(f"a known mix-up: {row.why}") for row in rows)
    reasons += [N_(f"said of it: {row.opinion}") for row in rows if row.opinion]
    if len({row.verdict for row in rows if row.verdict}) > 1:
        reasons.append(N_("opinions differ on this pair, so it is not offered here"))
    if have > want:
        reasons.append(
            N_(
                "The tyre would sit loose: pumped up, its bead climbs off the rim and the tube "
                "bursts, or it comes off under way. The rider falls."
            )
        )
    else:
        reasons.append(
            N_(
                "The tyre is too small to go over the rim: forcing it breaks the bead's wire, and "
                "a damaged bead can let go later under pressure."
            )
        )
    return tuple(reasons)


def _edges(tyre: Tyre, rim: Rim) -> tuple[str, ...]:
    if (tyre.edge is Edge.TUBULAR) != (rim.kind is RimKind.TUBULAR):
        return (N_("a tubular tyre is glued and goes on a tubular rim only, which holds no other"),)
    if tyre.edge is Edge.TUBULAR:
        return ()
    if (tyre.edge is Edge.BEADED) != (rim.kind is RimKind.BEADED) and rim.kind:
        return (
            N_(
                "beaded-edge and wired-edge never mix: a beaded edge is held by the rim's hooks, a "
                "wired one by its wire, and neither stays on the other's rim"
            ),
        )
    if rim.kind is RimKind.STRAIGHT and tyre.folding:
        return (
            N_("straight-side rims are for beads that do not fold (ISO 5775-2:2015, source I2)"),
        )
    if rim.kind is RimKind.HOOKLESS and tyre.tubeless is False:
        return (
            N_(
                "a hookless rim takes tubeless-type tyres only: a bead made for a hook stretches "
                "and blows off, at speed without warning"
            ),
        )
    if rim.kind is RimKind.HOOKLESS and tyre.hookless is False:
        return (N_("the tyre's maker does not approve it for hookless rims"),)
    return ()


def _width_fit(tyre: Tyre, rim: Rim, pressure: PressureRange, tables: Tables) -> Fit:
    checks, cautions = _open_questions(tyre, rim, tables), list(CAUTIONS)
    said: tuple[EditionWord, ...] = ()
    if tyre.size.width is None or rim.size.width is None:
        reasons = [N_("the bead seat diameters are equal, but a width is not known")]
        checks.append(N_("read or measure the tyre's width and the rim's inner width"))
        grade = Grade.CANT_TELL
    else:
        grade, reasons = _without_table(tyre)
        if tyre.edge is Edge.WIRED:
            weighed = weigh(tyre, rim, tables)
            grade, reasons, said = weighed.grade, list(weighed.reasons), weighed.said
            cautions += weighed.cautions
        word = _makers(tyre, rim)
        if word is not None:
            overruled = N_(f"overruled: {reasons[0]}") if reasons else ""
            grade, reasons = word[0], [word[1], *filter(None, [overruled]), *reasons[1:]]
    if rim.kind is RimKind.HOOKLESS and not (tyre.tubeless and tyre.hookless):
        if grade in ALLOWED:
            reasons.insert(
                0, N_("hookless: not said that the tyre is tubeless and approved for it")
            )
        grade = worst(grade, Grade.CANT_TELL)
    return Fit(tyre, rim, grade, tuple(reasons), tuple(checks), tuple(cautions), pressure, said)


def _without_table(tyre: Tyre) -> tuple[Grade, list[str]]:
    return Grade.CANT_TELL, [
        N_(f"equal diameters; no width table for {tyre.edge.value} tyres is held here")
    ]


def _makers(tyre: Tyre, rim: Rim) -> tuple[Grade, str] | None:
    """What the makers' own ranges say, the stricter first; None where none is known."""
    asked = (
        ("rim", rim.tyre_range, tyre.size.width or 0.0),
        ("tyre", tyre.rim_range, rim.size.width or 0.0),
    )
    given = [(who, span, width) for who, span, width in asked if span is not None]
    for who, span, width in given:
        if not span[0] <= width <= span[1]:
            return Grade.NEVER, _barred(who, span, width)
    if len(given) == 2:
        (_, tyres, _), (_, rims, _) = given
        return Grade.MAKER, N_(
            f"the rim's maker allows tyres of {tyres[0]:g} to {tyres[1]:g} mm and the tyre's maker "
            f"allows rims of {rims[0]:g} to {rims[1]:g} mm; that overrules every table"
        )
    return (Grade.MAKER, _allowed(*given[0][:2])) if given else None


def _barred(who: str, span: tuple[float, float], width: float) -> str:
    low, high = span
    if who == "rim":
        return N_(
            f"the rim's maker allows tyres of {low:g} to {high:g} mm, not {width:g}; that "
            "overrules every table"
        )
    return N_(
        f"the tyre's maker allows rims of {low:g} to {high:g} mm, not {width:g}; that overrules "
        "every table"
    )


def _allowed(who: str, span: tuple[float, float]) -> str:
    low, high = span
    if who == "rim":
        return N_(
            f"the rim's maker allows tyres of {low:g} to {high:g} mm; that overrules every table"
        )
    return N_(f"the tyre's maker allows rims of {low:g} to {high:g} mm; that overrules every table")


def _open_questions(tyre: Tyre, rim: Rim, tables: Tables) -> list[str]:
    checks = []
    if rim.kind is RimKind.HOOKLESS and tyre.tubeless is None:
        checks.append(N_("the tyre must be a tubeless type: look for the word on its sidewall"))
    if rim.kind is RimKind.HOOKLESS and tyre.hookless is None:
        checks.append(N_("the tyre's maker must approve it for hookless rims"))
    if rim.kind is RimKind.STRAIGHT and tyre.folding is None:
        checks.append(
            N_("a straight-side rim wants a bead that does not fold: feel for stiff wire")
        )
    if rim.kind is RimKind.UNKNOWN:
        checks.append(N_("look at the rim's edge: hooked, straight or for a glued tyre"))
    if tyre.tubeless and rim.kind in (RimKind.CROCHET, RimKind.STRAIGHT, RimKind.UNKNOWN):
        checks.append(
            N_("without a tube only on a rim made for it (TC or TSS); otherwise use a tube")
        )
    seat = tables.seat.get(tyre.size.bsd)
    if seat is None:
        checks.append(
            N_(f"no table knows bead seat diameter {tyre.size.bsd} mm: read both marks again")
        )
    elif seat.from_memory:
        checks.append(N_(f"bead seat diameter {tyre.size.bsd} mm is known here from memory only"))
    return checks
