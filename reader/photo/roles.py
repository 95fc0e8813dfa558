"""Which of the markings that were read matter to the answer, and how."""

from __future__ import annotations

from enum import Enum, auto

from reader.markings import SIZES
from reader.records import Candidate, Marking, Reading
from reader.selection import plainest

_A_RIVAL = 0.05  # probability from which another diameter is worth showing
_CLEAR = 2.0  # cost up to which what speaks for it is shown
_LEGIBLE = 0.8  # mean certainty of the letters from which a fact is worth showing
_WEIGHTY = 1.5  # natural-log weight from which evidence speaks clearly


class Role(Enum):
    """What a marking is to the answer."""

    RESTED_ON = auto()
    RIVAL = auto()
    FACT = auto()


def roles(reading: Reading) -> dict[Role, list[Marking]]:
    """The markings that matter to a reading, each place once, cleanest first.

    What the answer rests on, what speaks clearly for another diameter that it may be as well, and
    what else the part says. All other spellings that were tried are left out.
    """
    best = reading.best
    mine = _texts(best) if best is not None else set()
    others = [c for c in reading.candidates[1:] if best is not None and c.size.bsd != best.size.bsd]
    theirs = set().union(*(_texts(one) for one in others if one.probability >= _A_RIVAL)) - mine
    found: dict[Role, list[Marking]] = {role: [] for role in Role}
    for marking in reading.markings:
        if marking.notation in SIZES:
            if marking.text in mine:
                found[Role.RESTED_ON].append(marking)
            elif marking.text in theirs and marking.cost <= _CLEAR:
                found[Role.RIVAL].append(marking)
        elif marking.cost < 1 and _is_legible(marking):
            found[Role.FACT].append(marking)
    return {role: list(plainest(markings)) for role, markings in found.items()}


def _is_legible(marking: Marking) -> bool:
    seen = marking.hypothesis
    return seen is None or seen.score >= _LEGIBLE


def deciding(reading: Reading) -> Marking | None:
    """The cleanest marking that the answer rests on; None if there is no answer."""
    return next(iter(roles(reading)[Role.RESTED_ON]), None)


def _texts(candidate: Candidate) -> set[str]:
    """The texts that speak clearly for a candidate, as its evidence quotes them."""
    weighty = (piece for piece in candidate.evidence if piece.weight >= _WEIGHTY)
    return {piece.detail.split("'")[1] for piece in weighty if piece.detail.startswith("'")}
