"""Does this tyre go on this rim, and how safely.

Bead seat diameters must be equal: there is no near fit. Then the kinds of edge, the widths by each
published edition, the rules for hookless rims and the pressures that both carry. The grade is
never better than the evidence; what must still be checked stands in `checks`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from reader.fit.editions import EditionWord, Word, hookless_minimum, words
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.pressure import PressureRange, pressure_range
from reader.tables import Tables

CAUTIONS = (
    "Read what the makers of tyre and rim allow; it overrules every table here.",
    "Pump to the lower of the two limits on tyre and rim, never above.",
    "If in doubt, have a qualified mechanic look at it; local rules may ask for more.",
)
HAPPENS_WIDE = (
    "A tyre too wide for its rim squirms on a narrow base: in a bend or at low pressure it can "
    "roll sideways or come off, and rub frame or brake. The rider falls."
)
HAPPENS_NARROW = (
    "A tyre too narrow for its rim is pulled flat: the rim strikes stones and kerbs, and the bead "
    "can lose its hold and blow off. The rider falls."
)


ODD_RATIO = 0.75  # rim inside to tyre, beyond what any table allows


class Grade(StrEnum):
    """How a tyre and a rim go together, from best to worst."""

    GOOD = "good"
    ONE_TABLE = "allowed by one table only"
    CANT_TELL = "can't tell"
    OUT = "out of range"
    NEVER = "never"


GRADES = tuple(Grade)


@dataclass(frozen=True)
class Fit:
    """A verdict with reasons (each one sentence), cautions, and what still must be checked."""

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
    'good'
    >>> fit(Tyre(Size(590, 37)), Rim(Size(597, 19)), load_tables()).reasons[0]
    'the bead seat diameters differ: tyre 590 mm, rim 597 mm; there is no near fit'
    """
    barred = _diameter(tyre, rim, tables) or _edges(tyre, rim)
    if barred:
        return Fit(tyre, rim, Grade.NEVER, barred, (), CAUTIONS, None)
    pressure = pressure_range(tyre, rim, tables, use)
    if not pressure.possible and pressure.low and pressure.high:
        reason = (
            f"no pressure suits both: {pressure.low.by} asks for at least {pressure.low.kpa:.0f} "
            f"kPa, {pressure.high.by} allows at most {pressure.high.kpa:.0f} kPa"
        )
        return Fit(tyre, rim, Grade.NEVER, (reason,), (), CAUTIONS, pressure)
    return _width_fit(tyre, rim, pressure, tables)


def worst(*grades: Grade) -> Grade:
    """The worst of the grades.

    >>> worst(Grade.GOOD, Grade.OUT).value
    'out of range'
    """
    return max(grades, key=GRADES.index)


def _diameter(tyre: Tyre, rim: Rim, tables: Tables) -> tuple[str, ...]:
    have, want = tyre.size.bsd, rim.size.bsd
    if have == want:
        return ()
    reasons = [
        f"the bead seat diameters differ: tyre {have} mm, rim {want} mm; there is no near fit"
    ]
    for row in tables.near_misses:
        if row.bsds == {have, want}:
            reasons.append(f"a known mix-up: {row.why}")
    if have > want:
        reasons.append(
            "The tyre would sit loose: pumped up, its bead climbs off the rim and the tube bursts, "
            "or it comes off under way. The rider falls."
        )
    else:
        reasons.append(
            "The tyre is too small to go over the rim: forcing it breaks the bead's wire, and a "
            "damaged bead can let go later under pressure."
        )
    return tuple(reasons)


def _edges(tyre: Tyre, rim: Rim) -> tuple[str, ...]:
    if (tyre.edge is Edge.TUBULAR) != (rim.kind is RimKind.TUBULAR):
        return ("a tubular tyre is glued and goes on a tubular rim only, which holds no other",)
    if tyre.edge is Edge.TUBULAR:
        return ()
    if (tyre.edge is Edge.BEADED) != (rim.kind is RimKind.BEADED) and rim.kind:
        return (
            "beaded-edge and wired-edge never mix: a beaded edge is held by the rim's hooks, a "
            "wired one by its wire, and neither stays on the other's rim",
        )
    if rim.kind is RimKind.STRAIGHT and tyre.folding:
        return ("straight-side rims are for beads that do not fold (ISO 5775-2:2015, source I2)",)
    if rim.kind is RimKind.HOOKLESS and tyre.tubeless is False:
        return (
            "a hookless rim takes tubeless-type tyres only: a bead made for a hook stretches and "
            "blows off, at speed without warning",
        )
    if rim.kind is RimKind.HOOKLESS and tyre.hookless is False:
        return ("the tyre's maker does not approve it for hookless rims",)
    return ()


def _width_fit(tyre: Tyre, rim: Rim, pressure: PressureRange, tables: Tables) -> Fit:
    checks, cautions = _open_questions(tyre, rim, tables), list(CAUTIONS)
    said: tuple[EditionWord, ...] = ()
    if tyre.size.width is None or rim.size.width is None:
        reasons = ["the bead seat diameters are equal, but a width is not known"]
        checks.append("read or measure the tyre's width and the rim's inner width")
        grade = Grade.CANT_TELL
    elif tyre.edge is not Edge.WIRED:
        reasons = [f"equal diameters; no width table for {tyre.edge.value} tyres is held here"]
        grade = Grade.CANT_TELL
    else:
        said = words(tyre, rim, tables)
        grade, reasons = _by_tables(said, tyre, rim, tables)
        cautions += _extremes(tyre.size.width, rim.size.width, said)
    if rim.kind is RimKind.HOOKLESS and not (tyre.tubeless and tyre.hookless):
        grade = worst(grade, Grade.CANT_TELL)
    return Fit(tyre, rim, grade, tuple(reasons), tuple(checks), tuple(cautions), pressure, said)


def _by_tables(
    said: tuple[EditionWord, ...], tyre: Tyre, rim: Rim, tables: Tables
) -> tuple[Grade, list[str]]:
    pair = f"a {tyre.size.width:g} mm tyre on {rim.size.width:g} mm inner width"
    reasons = [
        f"{one.edition} {one.word.value} {pair} (there: {one.range_text})"
        for one in said
        if one.word is not Word.SILENT
    ]
    least = hookless_minimum(tyre, rim, tables)
    if least is not None and (tyre.size.width or 0) < least.tyre_from:
        reasons.append(
            f"hookless: at least {least.tyre_from:g} mm is reported for rims this wide; "
            "reports differ and the stricter counts"
        )
        return Grade.OUT, reasons
    forbids = [one for one in said if one.word is Word.FORBIDS]
    too_wide = any((tyre.size.width or 0) > (one.tyre_to or 0) for one in forbids)
    # A rule that names a least width only can't vouch for a tyre that others call too wide.
    allows = [one for one in said if one.word is Word.ALLOWS and not (too_wide and one.least_only)]
    if not allows and not forbids and (tyre.size.width or 0) * ODD_RATIO < (rim.size.width or 0):
        reason = f"{pair}: the rim is nearly as wide as the tyre (common practice, no source)"
        return Grade.OUT, [reason]
    if not allows and not forbids:
        return Grade.CANT_TELL, [f"no table held here covers {pair}; ask the makers"]
    if not allows:
        return _beyond_columns(forbids, tyre, pair, reasons)
    read = [one for one in allows if not one.from_memory]
    return (Grade.GOOD if len(read) > 1 and not forbids else Grade.ONE_TABLE), reasons


def _beyond_columns(
    forbids: list[EditionWord], tyre: Tyre, pair: str, reasons: list[str]
) -> tuple[Grade, list[str]]:
    """The 2006 table stops at 62 mm because it has no wider column, not because wider is barred."""
    stops = max((one.tyre_to or 0) for one in forbids)
    open_ended = all("widest column" in one.note for one in forbids)
    if open_ended and (tyre.size.width or 0) > stops:
        reasons.append(
            f"{pair}: the tables stop at {stops:g} mm, so they can't tell; ask the makers"
        )
        return Grade.CANT_TELL, reasons
    return Grade.OUT, reasons


def _open_questions(tyre: Tyre, rim: Rim, tables: Tables) -> list[str]:
    checks = []
    if rim.kind is RimKind.HOOKLESS and tyre.tubeless is None:
        checks.append("the tyre must be a tubeless type: look for the word on its sidewall")
    if rim.kind is RimKind.HOOKLESS and tyre.hookless is None:
        checks.append("the tyre's maker must approve it for hookless rims")
    if rim.kind is RimKind.STRAIGHT and tyre.folding is None:
        checks.append("a straight-side rim wants a bead that does not fold: feel for stiff wire")
    if rim.kind is RimKind.UNKNOWN:
        checks.append("look at the rim's edge: hooked, straight or for a glued tyre")
    if tyre.tubeless and rim.kind in (RimKind.CROCHET, RimKind.STRAIGHT, RimKind.UNKNOWN):
        checks.append("without a tube only on a rim made for it (TC or TSS); otherwise use a tube")
    seat = tables.seat.get(tyre.size.bsd)
    if seat is None:
        checks.append(
            f"no table knows bead seat diameter {tyre.size.bsd} mm: read both marks again"
        )
    elif seat.from_memory:
        checks.append(f"bead seat diameter {tyre.size.bsd} mm is known here from memory only")
    return checks


def _extremes(width: float, inner: float, said: tuple[EditionWord, ...]) -> list[str]:
    cautions = []
    forbids = [one for one in said if one.word is Word.FORBIDS]
    if width > 2 * inner:
        cautions.append(
            "The tyre is more than twice as wide as the rim inside; in practice about twice is as "
            "far as one should go (by a German compilation of width tables)."
        )
    if any(width > (one.tyre_to or 0) for one in forbids) or width > 2.5 * inner:
        cautions.append(HAPPENS_WIDE)
    if any(width < (one.tyre_from or 0) for one in forbids):
        cautions.append(HAPPENS_NARROW)
    if forbids:
        cautions.append(
            "Editions newer than those held here differ, mostly for wide rims: the rim maker's own "
            "list of tyres decides."
        )
    if any(one.note.startswith("no row") for one in said):
        cautions.append(f"No table has a row for {inner:g} mm; both neighbouring rows were taken.")
    return cautions
