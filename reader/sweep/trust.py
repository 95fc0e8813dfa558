"""How far a sweep may be trusted: when it stops by itself, and what is never called sure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from reader.markings import PAIRS
from reader.records import Judgement, KindOfPart, Marking, Reading, Verdict
from reader.sweep.fuse import Fused, scores
from reader.sweep.tracks import Look

FEWEST_LOOKS = 6  # at the deciding line before the sweep stops by itself
SHORTEST = 0.5  # seconds between the first of them and the last
CLEAR = 1.0  # natural-log cost up to which a look reads a marking by itself
SAYS_NOTHING = 8.0  # cost from which a look shows another part of the line, or nothing
WITNESSES = 1 / 3  # share of the looks at a marking that must read it by themselves, to be sure
MOST_UNSURE = 0.97  # probability of an answer that must not be called sure

Value = TypeVar("Value", int, float, KindOfPart)


def is_done(reading: Reading, fused: Sequence[Fused]) -> bool:
    """Whether diameter and width are sure, and rest on enough looks over enough time."""
    if not (reading.diameter.verdict is Verdict.SURE and reading.width.verdict is Verdict.SURE):
        return False
    return any(
        marking.cost <= CLEAR
        and len(looks) >= FEWEST_LOOKS
        and looks[-1].seconds - looks[0].seconds >= SHORTEST
        for marking, _, looks in _speaking(reading, fused)
    )


def assured(reading: Reading, fused: Sequence[Fused]) -> Reading:
    """The answer, held where too few looks read it by themselves.

    Votes of many looks that are all unclear in the same way can look clear: wear that makes a 6
    of a 0 does so in every frame.
    """
    if reading.verdict is not Verdict.SURE:
        return reading
    if any(_is_witnessed(*one) for one in _speaking(reading, fused)):
        return reading
    return held(reading)


def _speaking(
    reading: Reading, fused: Sequence[Fused]
) -> Iterator[tuple[Marking, Sequence[Marking], Sequence[Look]]]:
    """Markings that name the best size, their rivals on the same line, and the looks at it."""
    best = reading.best
    if best is None or best.size.width is None:
        return
    for one in fused:
        looks = one.track.looks if one.track.straight else one.track.turned
        pairs = [marking for marking in one.markings if marking.notation in PAIRS]
        for marking in pairs:
            numbers = marking.numbers
            if (numbers["bsd_mm"], numbers["width_mm"]) == (best.size.bsd, best.size.width):
                yield marking, pairs, looks


def _is_witnessed(marking: Marking, pairs: Sequence[Marking], looks: Sequence[Look]) -> bool:
    others = [one for one in pairs if one is not marking]
    table = scores([marking, *others], looks, SAYS_NOTHING)
    heard = table.min(1) < SAYS_NOTHING - 0.1
    clear = table[heard, 0] <= CLEAR
    return bool(len(clear) and clear.mean() >= WITNESSES)


def held(reading: Reading) -> Reading:
    """The answer, not called sure."""
    return replace(
        reading,
        verdict=_least(reading.verdict),
        candidates=tuple(
            replace(one, probability=min(one.probability, MOST_UNSURE))
            for one in reading.candidates
        ),
        diameter=_held(reading.diameter),
        width=_held(reading.width),
        bsd_probability=min(reading.bsd_probability, MOST_UNSURE),
    )


def _held(one: Judgement[Value]) -> Judgement[Value]:
    return replace(one, verdict=_least(one.verdict), probability=min(one.probability, MOST_UNSURE))


def _least(verdict: Verdict) -> Verdict:
    return Verdict.LIKELY if verdict is Verdict.SURE else verdict
