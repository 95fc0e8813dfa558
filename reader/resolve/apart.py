"""Photos said to be of one part that show two: each photo is asked alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reader.language import N_
from reader.records import Marking, Verdict
from reader.resolve.posterior import Belief

MINORITY = 0.25  # share of the photos that, without being sure, still makes it a question


@dataclass(frozen=True)
class Said:
    """What one photo alone says: its diameter in mm, the marking that says it, how surely."""

    photo: str
    bsd: int
    text: str
    verdict: Verdict


def text_of(belief: Belief, bsd: int) -> str:
    """The clearest marking that names a diameter."""
    for place in belief.places:
        if bsd in {meaning.size.bsd for meaning in belief.weigher.meanings(place.best)}:
            return place.best.text
    return str(bsd)


def by_photo(markings: Sequence[Marking], photo_name: Sequence[str]) -> dict[str, list[Marking]]:
    """The markings of each photo; those without one belong to none."""
    found: dict[str, list[Marking]] = {}
    for marking, name in zip(markings, photo_name, strict=True):
        if name:
            found.setdefault(name, []).append(marking)
    return found


def differ(said: Sequence[Said]) -> tuple[Said, ...]:
    """The photos that contradict each other, one for each diameter; none if they may be one part.

    One photo of many that is not sure of it may have been misread; it takes a sure one, or a
    quarter of all, to doubt that they show the same part.
    """
    told = [one for one in said if one.verdict in (Verdict.SURE, Verdict.LIKELY)]
    counts = Counter(one.bsd for one in told)
    sure = {one.bsd for one in told if one.verdict is Verdict.SURE}
    heard = [bsd for bsd, n in counts.most_common() if bsd in sure or n >= MINORITY * len(told)]
    if len(heard) < 2:
        return ()
    return tuple(next(one for one in told if one.bsd == bsd) for bsd in heard)


def question(apart: Sequence[Said]) -> str:
    """What to ask the mechanic."""
    says = ", ".join(f"{one.photo} says {one.text}" for one in apart)
    return N_(f"Are these the same part? {says}. If they are, photograph each marking again.")
