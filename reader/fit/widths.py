"""What the width tables say of a tyre on a rim, weighed: the newest edition that speaks decides."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from reader.fit.editions import EditionWord, Word, neighbours, words
from reader.fit.grades import ALLOWED, Grade, worst
from reader.fit.parts import Rim, RimKind, Tyre
from reader.language import N_
from reader.records import Size
from reader.tables import Tables

ODD_RATIO = 0.75  # rim inside to tyre, beyond what any table allows where none speaks
HAPPENS_WIDE = N_(
    "A tyre too wide for its rim squirms on a narrow base: in a bend or at low pressure it can "
    "roll sideways or come off, and rub frame or brake. The rider falls."
)
HAPPENS_NARROW = N_(
    "A tyre too narrow for its rim is pulled flat: the rim strikes stones and kerbs, and the bead "
    "can lose its hold and blow off. The rider falls."
)
NOT_HELD = N_(
    "Of 2020 and later only measuring rims and one hookless rule are held here, not whole ranges: "
    "the rim maker's own list of tyres decides."
)


@dataclass(frozen=True)
class Weighed:
    """A grade by the tables, the reason for it first, cautions, and every edition's word."""

    grade: Grade
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    said: tuple[EditionWord, ...]


def weigh(tyre: Tyre, rim: Rim, tables: Tables) -> Weighed:
    """Grade a tyre on a rim by the width tables alone; both widths must be known.

    A rim between two rows takes what both neighbours take: the rims that a tyre goes on form one
    run. Where the neighbours differ, the tables can't tell. Nothing but size and kind counts here.
    """
    return _weighed(tyre.size, rim.size, rim.kind, tables)


@lru_cache(maxsize=16384)
def _weighed(tyre_size: Size, rim_size: Size, kind: RimKind, tables: Tables) -> Weighed:
    tyre, rim = Tyre(tyre_size), Rim(rim_size, kind)
    said = words(tyre, rim, tables)
    if any(one.decides for one in said):
        grade, reasons = _at_row(said, tyre, rim, tables)
    else:
        grade, reasons = _off_rows(said, tyre, rim, tables)
    return Weighed(grade, tuple(reasons), tuple(_cautions(grade, said, tyre, rim)), said)


def _at_row(
    said: tuple[EditionWord, ...], tyre: Tyre, rim: Rim, tables: Tables
) -> tuple[Grade, list[str]]:
    spoken = [one for one in said if one.word is not Word.SILENT and one.role != "shown"]
    newest = next(one for one in spoken if one.decides)
    makers = [one for one in spoken if one.role == "maker"]
    first = [newest, *(one for one in spoken if one is not newest)]
    if newest.word is Word.ALLOWS:
        grade = Grade.CURRENT if newest.current else Grade.OLDER
    elif makers and not newest.current:
        grade, first = Grade.DISAGREE, [makers[0], *(one for one in spoken if one is not makers[0])]
    else:
        grade = Grade.UNLISTED
    reasons = [sentence(one, tyre, rim) for one in first]
    if grade is Grade.UNLISTED:
        reasons[1:1] = _hole(tyre, rim, tables)
    return grade, reasons


def sentence(one: EditionWord, tyre: Tyre, rim: Rim) -> str:
    """An edition's word as one sentence.

    >>> from reader.records import Size
    >>> said = EditionWord('ETRTO 2006', Word.FORBIDS, 28, 62, '', 'DER', False)
    >>> sentence(said, Tyre(Size(622, 25)), Rim(Size(622, 19)))
    'ETRTO 2006 does not allow it: 28 to 62 mm on 19 mm inside'
    """
    inner, what = N_(f"{rim.size.width:g} mm inside"), one.range_text
    if one.role == "minimum":
        return N_(f"hookless, {inner}, wants {what} ({one.edition})")
    if one.role == "measuring":
        return N_(f"{one.edition} measures tyres of {what} on {inner}")
    told = _word(one, N_(f"{what} on {rim.size.width:g} mm inside"))
    if one.role == "maker":
        return f"{told}; {one.note or N_('for its own parts')}"
    return f"{told} ({N_(f'told, not counted: {one.note}')})" if one.role == "shown" else told


def _word(one: EditionWord, row: str) -> str:
    if one.word is Word.ALLOWS:
        return N_(f"{one.edition} allows it: {row}")
    if one.word is Word.FORBIDS:
        return N_(f"{one.edition} does not allow it: {row}")
    return N_(f"{one.edition} does not speak of it: {row}")


def _hole(tyre: Tyre, rim: Rim, tables: Tables) -> list[str]:
    """Whether narrower and wider tyres are both allowed on this rim."""
    width = tyre.size.width or 0.0
    allowed = _allowed(rim.size, rim.kind, tables)
    below = max((other for other in allowed if other < width), default=None)
    above = min((other for other in allowed if other > width), default=None)
    if below is None or above is None:
        return []
    return [N_(f"a hole in the tables: {below:g} mm and {above:g} mm are allowed on this rim")]


@lru_cache(maxsize=1024)
def _allowed(size: Size, kind: RimKind, tables: Tables) -> tuple[float, ...]:
    """Tyre widths that the newest edition that speaks allows on this very rim width."""
    rim, found = Rim(size, kind), []
    for width in tables.tyre_widths_at(size.bsd):
        said = words(Tyre(Size(size.bsd, width)), rim, tables)
        newest = next((one for one in said if one.decides), None)
        if newest is not None and newest.word is Word.ALLOWS:
            found.append(width)
    return tuple(found)


def _off_rows(
    said: tuple[EditionWord, ...], tyre: Tyre, rim: Rim, tables: Tables
) -> tuple[Grade, list[str]]:
    """No edition decides for this inner width: ask the rows on either side."""
    width, inner = tyre.size.width or 0.0, rim.size.width or 0.0
    pair = N_(f"a {width:g} mm tyre on {inner:g} mm inside")
    spoken = [one for one in said if one.word is not Word.SILENT and one.role != "shown"]
    makers = any(one.role == "maker" for one in spoken)
    told = [sentence(one, tyre, rim) for one in sorted(spoken, key=lambda one: one.role != "maker")]
    if width * ODD_RATIO < inner and not makers:
        wide = N_("the rim is nearly as wide as the tyre (common practice, no source)")
        reason = f"{pair}: {wide}"
        return Grade.UNLISTED, [reason, *told]
    below, above = neighbours(tyre, rim, tables)
    if below is not None and above is not None and not any(one.stops for one in said):
        found = _between(tyre, rim, (below, above), tables)
        if found is not None and makers and found[0] not in ALLOWED:
            return Grade.DISAGREE, [*told, *found[1]]
        if found is not None:
            return found[0], [*found[1], *told]
    stops = next((one for one in said if one.stops), None)
    if stops is not None:
        stop = N_(f"{stops.edition} stops at {stops.tyre_to:g} mm; ask the makers")
        why = f"{pair}: {stop}"
        return Grade.CANT_TELL, [why, *told]
    nothing = N_(f"no table held here covers {pair}; ask the makers")
    return Grade.CANT_TELL, [*told, nothing] if makers else [nothing, *told]


def _between(
    tyre: Tyre, rim: Rim, beside: tuple[float, float], tables: Tables
) -> tuple[Grade, list[str]] | None:
    """The worse of both neighbours' grades, or None where they do not settle it."""
    grades, reasons = [], []
    for inner in beside:
        other = replace(rim, size=replace(rim.size, width=inner))
        said = words(tyre, other, tables)
        if not any(one.decides for one in said):
            return None
        grade, why = _at_row(said, tyre, other, tables)
        grades.append(grade)
        reasons.append(f"{inner:g} mm: {grade.value}; {why[0]}")
    both = f"{beside[0]:g} and {beside[1]:g} mm"
    if all(grade is Grade.UNLISTED for grade in grades):
        lead = N_(f"{rim.size.width:g} mm inside has no row; neither {both} takes it")
        return Grade.UNLISTED, [lead, *reasons]
    if Grade.UNLISTED in grades:
        lead = N_(f"{rim.size.width:g} mm inside has no row, and the rows for {both} differ")
        return Grade.CANT_TELL, [lead, *reasons]
    lead = N_(f"{rim.size.width:g} mm inside has no row of its own; {both} both take it")
    return worst(*grades), [lead, *reasons]


def _cautions(grade: Grade, said: tuple[EditionWord, ...], tyre: Tyre, rim: Rim) -> list[str]:
    width, inner = tyre.size.width or 0.0, rim.size.width or 0.0
    cautions = []
    if width > 2 * inner:
        cautions.append(
            N_(
                "The tyre is more than twice as wide as the rim inside; in practice about twice is "
                "as far as one should go (by a German compilation of width tables)."
            )
        )
    forbids = [] if grade in ALLOWED else [one for one in said if one.word is Word.FORBIDS]
    if any(width > (one.tyre_to or 0) for one in forbids) or width > 2.5 * inner:
        cautions.append(HAPPENS_WIDE)
    if any(width < (one.tyre_from or 0) for one in forbids):
        cautions.append(HAPPENS_NARROW)
    if grade not in (Grade.MAKER, Grade.CURRENT):
        cautions.append(NOT_HELD)
    return cautions
