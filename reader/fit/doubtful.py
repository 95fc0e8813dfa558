"""Fit of parts whose sizes were read from photos: the reading's doubt stays in the answer."""

from __future__ import annotations

from dataclasses import dataclass

from reader.fit.grades import ALLOWED, GRADES, Grade
from reader.fit.mount import Fit, fit
from reader.fit.parts import Rim, RimKind, Tyre
from reader.records import Candidate, PartKind, Reading, Verdict
from reader.tables import Tables

SURE = 0.99  # below this belief no fit is called good or allowed
WORTH = 0.01  # candidates below this share are left out of the pairings shown


@dataclass(frozen=True)
class ReadFit:
    """The outcome over all pairings of candidates.

    `grade` is what may be said; `if_right` the grade should both best readings be right; `chance`
    the belief that the pair is allowed by a maker or a table, 0..1; `outcomes` the fits with their
    belief, largest first.
    """

    grade: Grade
    if_right: Grade
    chance: float
    words: str
    outcomes: tuple[tuple[Fit, float], ...]


def fit_reading(
    tyre: Reading | Tyre,
    rim: Reading | Rim,
    tables: Tables,
    use: str = "road",
    kind: RimKind = RimKind.UNKNOWN,
) -> ReadFit:
    """Grade two parts of which one or both were read and may be misread.

    A grade that allows needs both readings sure and at least 99 % belief; 'never' and 'no table in
    hand allows it' need the same belief that no pairing is better. Anything else is "can't tell",
    with what would be if the readings are right.

    Args:
        kind: the rim's kind, where the reading does not tell it.
    """
    tyres = _tyres(tyre)
    rims = _rims(rim, kind)
    outcomes = sorted(
        (
            (fit(one, other, tables, use), belief * share)
            for one, belief in tyres
            for other, share in rims
        ),
        key=lambda outcome: -outcome[1],
    )
    if not outcomes:
        words = "A size was not read: photograph the marking closer, or measure the part."
        return ReadFit(Grade.CANT_TELL, Grade.CANT_TELL, 0.0, words, ())
    belief = {grade: sum(b for f, b in outcomes if f.grade is grade) for grade in GRADES}
    allowed = sum(belief[grade] for grade in ALLOWED)
    if_right = outcomes[0][0].grade
    grade = _grade(belief, if_right, _settled(tyre) and _settled(rim))
    return ReadFit(grade, if_right, allowed, _words(grade, if_right, allowed), tuple(outcomes))


def _settled(part: Reading | Tyre | Rim) -> bool:
    return not isinstance(part, Reading) or part.verdict is Verdict.SURE


def _grade(belief: dict[Grade, float], if_right: Grade, settled: bool) -> Grade:
    at = GRADES.index(if_right)
    as_bad = sum(share for grade, share in belief.items() if GRADES.index(grade) >= at)
    if if_right in (Grade.UNLISTED, Grade.NEVER):
        return if_right if settled and as_bad >= SURE else Grade.CANT_TELL
    no_worse = sum(share for grade, share in belief.items() if GRADES.index(grade) <= at)
    return if_right if settled and no_worse >= SURE else Grade.CANT_TELL


def _words(grade: Grade, if_right: Grade, allowed: float) -> str:
    if grade is not Grade.CANT_TELL or if_right is Grade.CANT_TELL:
        return f"{grade.value}, with readings that are sure"
    chance = "over 99 %" if allowed >= 0.995 else f"{100 * allowed:.0f} %"
    return (
        f"this reading is not sure; if both are read rightly it is '{if_right.value}', and the "
        f"belief that it is allowed at all is {chance}. Read the ISO pair on both parts before "
        "mounting."
    )


def _candidates(reading: Reading, part: PartKind) -> list[tuple[Candidate, float]]:
    """Candidates as this part; the belief of the rest stays missing, so it can't make a fit."""
    return [
        (one, one.probability)
        for one in reading.candidates
        if one.part in (part, "unknown") and one.probability >= WORTH
    ]


def _tyres(part: Reading | Tyre) -> list[tuple[Tyre, float]]:
    if isinstance(part, Reading):
        return [(Tyre(one.size), belief) for one, belief in _candidates(part, "tyre")]
    return [(part, 1.0)]


def _rims(part: Reading | Rim, kind: RimKind) -> list[tuple[Rim, float]]:
    if isinstance(part, Reading):
        return [(Rim(one.size, kind), belief) for one, belief in _candidates(part, "rim")]
    return [(part, 1.0)]
