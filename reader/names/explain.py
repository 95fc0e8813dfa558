"""What a typed text can mean: sizes most likely first, why, how far to trust it, how to settle it.

Shares hold the market's prior (names.py). Texts beside each other ('37-590 26 x 1 3/8') are taken
as independent: shares of the same size multiply.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from reader.errors import InputError
from reader.fit.measure import FLANGES
from reader.markings import MEASURES
from reader.names.meanings import Meaning, by_nominal, meanings
from reader.records import Candidate, Marking, Reading, Verdict
from reader.tables import Tables

EXAMPLES = "write for example 47-507, 26 x 1 3/8, 26 x 1.75, 28 x 1 5/8 x 1 3/8, 700x28C or 622x19C"
SURE_SHARE = 0.95  # a pair that leaves the part open ('25-622') is not sure
LIKELY_SHARE = 0.8
ABSENT = 0.002  # share of a size that one of several texts does not name
ABSENT_FROM_PAIR = 0.0005  # the pair outweighs the other texts
WORTH_SETTLING = 0.02  # rarer meanings are listed, but no measurement is asked for them
SWAP_CAUTION = (
    "An inch or French text alone never settles a size: makers have printed the same text for "
    "sizes that do not interchange. It fits only if the ISO pair agrees."
)


@dataclass(frozen=True)
class Answer:
    """All meanings of a text (shares sum to 1), how far to trust the first, and what to do next."""

    text: str
    meanings: tuple[Meaning, ...]
    verdict: Verdict
    advice: tuple[str, ...]
    cautions: tuple[str, ...]
    contradictions: tuple[str, ...]
    damaged: bool  # letters had to be taken for others, e.g. '4T-5O7' for 47-507

    @property
    def ambiguous(self) -> bool:
        """Whether more than one bead seat diameter is possible."""
        return len({one.size.bsd for one in self.meanings}) > 1


def explain(
    text: str, markings: Sequence[Marking], tables: Tables, market: str = "world"
) -> Answer:
    """What the markings found in a text mean together.

    Args:
        text: as typed, for messages.
        markings: all that `reader.markings.parse_text` found in it.

    Raises:
        InputError: no marking names a size that any table knows, or the market is unknown.

    >>> from reader.tables import load_tables
    >>> numbers = {'diameter_in': 26, 'width_in': 1.375, 'width_text': '1 3/8', 'code': ''}
    >>> marking = Marking('inch_fraction', '26 x 1 3/8', numbers)
    >>> found = explain('26 x 1 3/8', [marking], load_tables())
    >>> [one.size.bsd for one in found.meanings][:2], found.ambiguous
    ([590, 597], True)
    """
    groups = _groups(markings, tables, market)
    if not groups:
        raise InputError(f"'{text}' names no size that a table knows", EXAMPLES)
    together, clash = _combine(groups)
    paired = any(pair for _, _, pair in groups)
    damaged = any(cost > 0 for _, cost, _ in groups)
    return Answer(
        text,
        together,
        _verdict(together, paired, damaged or bool(clash)),
        _advice(together, paired),
        () if paired else (SWAP_CAUTION,),
        clash,
        damaged,
    )


def nominal(diameter: float, tables: Tables, market: str = "world") -> Answer:
    """What a bare nominal diameter ('26', '700') can mean; never more than can't tell or likely.

    Raises:
        InputError: no table knows the nominal diameter.
    """
    found = by_nominal(diameter, tables, market)
    text = format(diameter, "g")
    if not found:
        raise InputError(f"no table knows a wheel called '{text}'", EXAMPLES)
    several = len(found) > 1
    verdict = Verdict.CANT_TELL if several else Verdict.LIKELY
    return Answer(text, found, verdict, _advice(found, False), (SWAP_CAUTION,), (), False)


def as_reading(answer: Answer) -> Reading:
    """The answer in the shape of a reading, so that fit carries its doubt along."""
    candidates = tuple(
        Candidate(one.size, one.part, one.share) for one in answer.meanings if one.part != "tube"
    )
    return Reading(candidates, answer.verdict, advice=answer.advice, cautions=answer.cautions)


Group = tuple[tuple[Meaning, ...], float, bool]


def _groups(markings: Sequence[Marking], tables: Tables, market: str) -> list[Group]:
    """Meanings per place in the text, the cheapest reading of each place first."""
    groups: list[tuple[tuple[int, int], Group]] = []
    ordered = sorted(markings, key=lambda one: (one.cost, one.span[0] - one.span[1]))
    for marking in ordered:
        start, end = marking.span
        if any(start < right and left < end for (left, right), _ in groups):
            continue
        found = meanings(marking.notation, marking.numbers, tables, market)
        if found:
            pair = marking.notation in MEASURES
            groups.append(((start, max(end, start + 1)), (found, marking.cost, pair)))
    return [group for _, group in groups]


def _combine(groups: list[Group]) -> tuple[tuple[Meaning, ...], tuple[str, ...]]:
    if len(groups) == 1:
        return groups[0][0], ()
    best: dict[tuple[int, str], Meaning] = {}
    for group, _, _ in sorted(groups, key=lambda one: not one[2]):  # the pair gives the width
        for one in group:
            best.setdefault((one.size.bsd, one.part), one)
    scores = {
        key: math.prod(
            sum(one.share for one in group if one.size.bsd == key[0])
            or (ABSENT_FROM_PAIR if pair else ABSENT)
            for group, _, pair in groups
        )
        * meaning.share
        for key, meaning in best.items()
    }
    total = sum(scores.values())
    merged = (replace(one, share=scores[key] / total) for key, one in best.items())
    clash = tuple(
        f"'{_listed(first)}' and '{_listed(second)}' share no size: a misread or a misprint"
        for first, second in combinations((group for group, _, _ in groups), 2)
        if not {one.size.bsd for one in first} & {one.size.bsd for one in second}
    )
    return tuple(sorted(merged, key=lambda one: -one.share)), clash


def _listed(group: tuple[Meaning, ...]) -> str:
    return " or ".join(dict.fromkeys(str(one.size.bsd) for one in group))


def _verdict(found: tuple[Meaning, ...], paired: bool, doubtful: bool) -> Verdict:
    top = found[0]
    labelled = all(one.part == "tube" for one in found)  # a tube's label lists sizes, all of them
    if doubtful or (top.share < LIKELY_SHARE and not labelled):
        return Verdict.CANT_TELL
    if paired and (top.share >= SURE_SHARE or labelled) and not top.from_memory:
        return Verdict.SURE
    return Verdict.LIKELY


def _advice(found: tuple[Meaning, ...], paired: bool) -> tuple[str, ...]:
    advice = []
    bsds = [*dict.fromkeys(one.size.bsd for one in found if one.share >= WORTH_SETTLING)]
    if not paired:
        ends = " or ".join(str(bsd) for bsd in bsds[:4])
        advice.append(
            "Look for the ISO pair on the sidewall or rim: two numbers with a dash, ending in "
            f"{ends}."
        )
    if len(bsds) > 1 and found[0].part != "tube":
        advice.append(_tape(bsds[0], bsds[1]))
    if len({one.part for one in found}) > 1:
        advice.append("Say whether it stands on a tyre or on a rim: the width means another thing.")
    if found[0].from_memory:
        advice.append("The tables know this from memory only: confirm it by the ISO pair.")
    return tuple(advice)


def _tape(first: int, second: int) -> str:
    outer = [round(math.pi * (bsd + FLANGES[0])) for bsd in (first, second)]
    if abs(first - second) < 2 * FLANGES[1]:
        return (
            f"{first} and {second} lie too close for a tape over the rim's edge: read the mark, or "
            "ask the maker."
        )
    return (
        f"Or tape round the bare rim's outer edge: about {outer[0]} mm for {first}, about "
        f"{outer[1]} mm for {second} (edge height from memory, give or take 6 mm)."
    )
