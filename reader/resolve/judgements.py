"""The three answers, each judged alone: bead seat diameter, width, and kind of part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from reader.records import Judgement, KindOfPart, PartKind, Verdict
from reader.resolve.calibration import (
    Calibration,
    Features,
    confidence,
    judge,
    judge_seat,
    part_confidence,
    seat_confidence,
    width_confidence,
)
from reader.resolve.features import NOMINAL, kind_shares
from reader.resolve.posterior import Belief

OTHERS = 4  # rivals of one answer that are told
LEAST = 0.01  # a rival's probability
KIND_LIKELY = 0.95  # tyres and rims bear the same names: a kind that is told is to be right

Rival = TypeVar("Rival", int, float, KindOfPart)


@dataclass(frozen=True, eq=False)
class Judge:
    """Gives the three answers from one belief, with one heading at least, and what was seen."""

    belief: Belief
    seen: Features
    calibration: Calibration

    @cached_property
    def size_probability(self) -> float:
        """That the whole size is right, calibrated."""
        return confidence(self.seen, self.calibration)

    @cached_property
    def seat(self) -> float:
        """That the bead seat diameter is right, calibrated."""
        return seat_confidence(self.seen, self.calibration)

    @cached_property
    def verdict(self) -> Verdict:
        """Of the whole size."""
        return judge(self.seen, self.size_probability, self.calibration)

    def diameter(self) -> Judgement[int]:
        """The most probable one; never less trusted than a whole size that holds it."""
        (bsd, share), *rest = self.belief.by_seat()
        verdict = better(self.verdict, judge_seat(self.seen, self.seat, self.calibration))
        return Judgement(bsd, self.seat, verdict, rivals(rest, share, self.seat))

    def width(self) -> Judgement[float]:
        """That at the most probable diameter; no value where the marking leaves it open."""
        chosen = self.belief.best()[0].width
        shares = self.belief.by_width()
        if chosen is None:
            return Judgement(others=rivals(shares, 0.0, 0.0))
        probability = width_confidence(self.seen, self.calibration)
        nominal = self.seen.kind == "name"
        slack = NOMINAL if nominal else 0.0
        rest = [(w, s) for w, s in shares if abs(w - chosen) > slack]
        doubtful = self.seen.contradiction or self.seen.is_weak
        likely = probability >= self.calibration.likely and not doubtful
        verdict = better(self.verdict, Verdict.LIKELY if likely else Verdict.CANT_TELL)
        others = rivals(rest, self.seen.width, probability)
        return Judgement(chosen, probability, verdict, others, nominal)

    def kind(self, part: PartKind) -> Judgement[KindOfPart]:
        """What kind of part it is; a user who says `part` is believed."""
        if part != "unknown":
            return Judgement(part, 1.0, Verdict.SURE)
        (kind, share), *rest = kind_shares(self.belief, self.seen.kind)
        told = part_confidence(self.seen, self.calibration)
        verdict = Verdict.SURE if told >= self.calibration.sure else Verdict.LIKELY
        if told < max(self.calibration.likely, KIND_LIKELY):
            verdict = Verdict.CANT_TELL
        return Judgement(kind, told, verdict, rivals(rest, share, told))


def rivals(
    rest: Iterable[tuple[Rival, float]], share: float, probability: float
) -> tuple[tuple[Rival, float], ...]:
    """The others' shares, no more than a best one of this probability leaves over."""
    scale = min(1.0, (1 - probability) / max(1 - share, 1e-9))
    scaled = [(value, min(max(other * scale, 0.0), 1.0)) for value, other in rest]
    return tuple(pair for pair in scaled if pair[1] >= LEAST)[:OTHERS]


ORDER: Sequence[Verdict] = (Verdict.NONE, Verdict.CANT_TELL, Verdict.LIKELY, Verdict.SURE)


def better(one: Verdict, other: Verdict) -> Verdict:
    """Of two verdicts the more trusting."""
    return max(one, other, key=ORDER.index)
