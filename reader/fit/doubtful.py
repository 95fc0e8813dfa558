"""Fit of parts whose sizes were read from photos: the reading's doubt stays in the answer."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reader.errors import InputError
from reader.fit.grades import ALLOWED, GRADES, USABLE, Grade
from reader.fit.mount import Fit, fit
from reader.fit.parts import Edge, Rim, RimKind, Tyre, check
from reader.fit.pressure_text import Printed, parse_printed
from reader.language import N_
from reader.records import Candidate, Fact, FactName, PartKind, Reading, Size, Verdict
from reader.tables import Tables

SURE = 0.99  # below this belief no fit is called good or allowed
WORTH = 0.01  # candidates below this share are not graded at all
LISTED = 0.05  # pairings below this belief are not listed: a guess of 1 % is no fit
LOOK_CLOSER = N_("diameter fits, width open: look closer")
READ_FIRST = N_("Read the ISO pair on both parts before mounting.")
USED = 0.9  # belief from which a mark that was read (pressure, hookless, edge) counts


@dataclass(frozen=True)
class ReadFit:
    """The outcome over all pairings of candidates.

    `grade` is what may be said; `if_right` the grade should both best readings be right; `chance`
    the belief that the pair is allowed by a maker or a table, `possible` that it is allowed or left
    open, 0..1; `outcomes` the fits worth listing with their belief, largest first.
    """

    grade: Grade
    if_right: Grade
    chance: float
    words: str
    outcomes: tuple[tuple[Fit, float], ...]
    possible: float = 0.0
    width_open: bool = False  # both diameters are sure and the same, and a width is not told

    @property
    def listed(self) -> bool:
        """Whether the pair is worth showing among what may fit."""
        return self.grade in USABLE and self.possible >= LISTED


def fit_reading(
    tyre: Reading | Tyre,
    rim: Reading | Rim,
    tables: Tables,
    use: str = "road",
    kind: RimKind = RimKind.UNKNOWN,
    allows: tuple[float, float] | None = None,
) -> ReadFit:
    """Grade two parts of which one or both were read and may be misread.

    A grade that allows needs both readings sure and at least 99 % belief; 'never' and 'no table in
    hand allows it' need the same belief that no pairing is better. Anything else is "can't tell",
    with what would be if the readings are right.

    Args:
        kind: the rim's kind, where the reading does not tell it.
        allows: the range in mm that the maker of the part that was read allows, if known.
    """
    tyres = _tyres(tyre, allows)
    rims = _rims(rim, kind, allows)
    outcomes = sorted(
        (
            (fit(one, other, tables, use), belief * share)
            for one, belief in tyres
            for other, share in rims
        ),
        key=lambda outcome: -outcome[1],
    )
    if not outcomes:
        words = N_("A size was not read: photograph the marking closer, or measure the part.")
        return ReadFit(Grade.CANT_TELL, Grade.CANT_TELL, 0.0, words, ())
    belief = {grade: sum(b for f, b in outcomes if f.grade is grade) for grade in GRADES}
    allowed = sum(belief[grade] for grade in ALLOWED)
    if_right = outcomes[0][0].grade
    settled = _settled(tyre) and _settled(rim)
    if if_right is Grade.NEVER and _diameter_settled(tyre) and _diameter_settled(rim):
        settled = True  # the diameters bar it, whatever the widths
    grade = _grade(belief, if_right, settled)
    shown = tuple(
        (found, share)
        for found, share in outcomes
        if share >= LISTED or found.grade not in USABLE  # what would not go may be named
    )
    possible = sum(belief[one] for one in USABLE)
    width_open = grade is Grade.CANT_TELL and _only_width_open(tyre, rim)
    if width_open:  # what no candidate has may be a width that goes, too
        possible += max(0.0, 1 - sum(share for _, share in outcomes))
    width_open = width_open and possible >= LISTED
    words = f"{LOOK_CLOSER}. {READ_FIRST}" if width_open else _words(grade, if_right, allowed)
    listed = shown or tuple(outcomes[:1])
    return ReadFit(grade, if_right, allowed, words, listed, possible, width_open)


def _settled(part: Reading | Tyre | Rim) -> bool:
    return not isinstance(part, Reading) or part.verdict is Verdict.SURE


def _diameter_settled(part: Reading | Tyre | Rim) -> bool:
    return _settled(part) or (isinstance(part, Reading) and part.diameter.verdict is Verdict.SURE)


def _only_width_open(tyre: Reading | Tyre, rim: Reading | Rim) -> bool:
    both = (tyre, rim)
    sure = all(_diameter_settled(part) for part in both)
    return sure and len(set(map(_bsd, both))) == 1 and any(map(_width_open, both))


def _bsd(part: Reading | Tyre | Rim) -> int | None:
    return part.diameter.value if isinstance(part, Reading) else part.size.bsd


def _width_open(part: Reading | Tyre | Rim) -> bool:
    """Whether a reading tells no width; one by an inch or French name may be millimetres off."""
    if not isinstance(part, Reading) or part.width.verdict is Verdict.SURE:
        return False
    return not part.width.told or part.width.nominal


def _grade(belief: dict[Grade, float], if_right: Grade, settled: bool) -> Grade:
    at = GRADES.index(if_right)
    as_bad = sum(share for grade, share in belief.items() if GRADES.index(grade) >= at)
    if if_right in (Grade.UNLISTED, Grade.NEVER):
        return if_right if settled and as_bad >= SURE else Grade.CANT_TELL
    no_worse = sum(share for grade, share in belief.items() if GRADES.index(grade) <= at)
    return if_right if settled and no_worse >= SURE else Grade.CANT_TELL


def _words(grade: Grade, if_right: Grade, allowed: float) -> str:
    if grade is not Grade.CANT_TELL or if_right is Grade.CANT_TELL:
        return N_(f"{grade.value}, with readings that are sure")
    chance = "over 99 %" if allowed >= 0.995 else f"{100 * allowed:.0f} %"
    return N_(
        f"this reading is not sure; if both are read rightly it is '{if_right.value}', and the "
        f"belief that it is allowed at all is {chance}. {READ_FIRST}"
    )


def _candidates(reading: Reading, part: PartKind) -> list[tuple[Candidate, float]]:
    """Candidates as this part; the belief of the rest stays missing, so it can't make a fit."""
    return [
        (one, one.probability)
        for one in reading.candidates
        if one.part in (part, "unknown") and one.probability >= WORTH and _can_be(one.size)
    ]


def _can_be(size: Size) -> bool:
    """Whether a part can have it; what was misread can be anything."""
    try:
        check(size)
    except InputError:
        return False
    return True


def _tyres(part: Reading | Tyre, allows: tuple[float, float] | None) -> list[tuple[Tyre, float]]:
    if not isinstance(part, Reading):
        return [(part, 1.0)]
    return [
        (replace(tyre_read(part, one.size), rim_range=allows), belief)
        for one, belief in _candidates(part, "tyre")
    ]


def _rims(
    part: Reading | Rim, kind: RimKind, allows: tuple[float, float] | None
) -> list[tuple[Rim, float]]:
    if not isinstance(part, Reading):
        return [(part, 1.0)]
    return [
        (replace(rim_read(part, one.size, kind), tyre_range=allows), belief)
        for one, belief in _candidates(part, "rim")
    ]


def tyre_read(reading: Reading, size: Size) -> Tyre:
    """A tyre of this size with the marks that were read on it surely enough.

    Pressures, 'tubeless', and whether it is for hookless rims; what was read with less than 90 %
    belief is left out, so that it is asked for.
    """
    tubeless = _fact(reading, "tubeless")
    hookless = _fact(reading, "hookless")
    edge = _fact(reading, "edge")
    glued = edge is not None and "tubular" in f"{edge.value} {edge.text}".lower()
    tyre = Tyre(
        size,
        Edge.TUBULAR if glued else Edge.WIRED,
        tubeless=None if tubeless is None else tubeless.value is not False,
        hookless=None if hookless is None else _approves(hookless),
    )
    printed = _pressure(reading)
    if printed is None:
        return tyre
    return replace(tyre, min_kpa=printed.low, max_kpa=printed.high)


def rim_read(reading: Reading, size: Size, kind: RimKind = RimKind.UNKNOWN) -> Rim:
    """A rim of this size with the marks that were read on it surely enough.

    Args:
        kind: its edge, where better known than by its marks.
    """
    edge = _fact(reading, "edge")
    if kind is RimKind.UNKNOWN and edge is not None and str(edge.value).upper() in set(RimKind):
        kind = RimKind(str(edge.value).upper())
    hookless = _fact(reading, "hookless")
    if kind is RimKind.UNKNOWN and hookless is not None and _approves(hookless):
        kind = RimKind.HOOKLESS
    printed = _pressure(reading)
    return Rim(size, kind, printed.high if printed else None)


def _approves(fact: Fact) -> bool:
    """'HOOKLESS OK' or 'NO HOOKLESS'."""
    return fact.value is not False and not fact.text.lower().startswith(("no ", "not "))


def _fact(reading: Reading, name: FactName) -> Fact | None:
    """The surest mark of this name, if it was read surely enough."""
    found = [one for one in reading.facts if one.name == name and one.probability >= USED]
    return max(found, key=lambda one: one.probability, default=None)


def _pressure(reading: Reading) -> Printed | None:
    """All pressures read, the stricter counting; a text that makes no sense says nothing."""
    found = []
    for fact in reading.facts:
        if fact.name == "pressure" and fact.probability >= USED:
            try:
                found.append(parse_printed(fact.text))
            except InputError:
                continue
    lows = [one.low for one in found if one.low is not None]
    highs = [one.high for one in found if one.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if not found or (low is not None and high is not None and low > high):
        return None
    return Printed("", low, high, ())
