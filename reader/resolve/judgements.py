"""The three answers, each judged alone: bead seat diameter, width, and kind of part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from reader.records import Judgement, KindOfPart, PartKind, Verdict
from reader.resolve.calibration import Calibration, Features, judge_seat, part_confidence
from reader.resolve.features import NOMINAL, kind_shares
from reader.resolve.posterior import Belief

OTHERS = 4  # rivals of one answer that are told
LEAST = 0.01  # a rival's probability

Rival = TypeVar("Rival", int, float, KindOfPart)


def judge_diameter(
    belief: Belief, seen: Features, probability: float, size: Verdict, calibration: Calibration
) -> Judgement[int]:
    """The most probable bead seat diameter; never less trusted than a whole size that holds it.

    Args:
        belief: with one heading at least.
        seen: what the calibration looks at.
        probability: that the diameter is right, calibrated.
        size: verdict on the whole size.
        calibration: its thresholds.
    """
    (bsd, share), *rest = belief.by_seat()
    verdict = better(size, judge_seat(seen, probability, calibration))
    return Judgement(bsd, probability, verdict, rivals(rest, share, probability))


def judge_width(
    belief: Belief, seen: Features, probability: float, size: Verdict, calibration: Calibration
) -> Judgement[float]:
    """The width at the most probable diameter; no value where the marking leaves it open.

    Args:
        belief: with one heading at least.
        seen: what the calibration looks at.
        probability: that the width is right, calibrated.
        size: verdict on the whole size.
        calibration: its thresholds.
    """
    chosen = belief.best()[0].width
    shares = belief.by_width()
    if chosen is None:
        return Judgement(others=rivals(shares, 0.0, 0.0))
    nominal = seen.kind == "name"
    slack = NOMINAL if nominal else 0.0
    rest = [(w, s) for w, s in shares if abs(w - chosen) > slack]
    likely = probability >= calibration.likely and not seen.contradiction
    verdict = better(size, Verdict.LIKELY if likely else Verdict.CANT_TELL)
    others = rivals(rest, seen.width, probability)
    return Judgement(chosen, probability, verdict, others, nominal)


def judge_kind(
    belief: Belief, seen: Features, part: PartKind, calibration: Calibration
) -> Judgement[KindOfPart]:
    """What kind of part it is; a user who said so is believed.

    Args:
        belief: with one heading at least.
        seen: what the calibration looks at.
        part: what the user says.
        calibration: its models and thresholds.
    """
    if part != "unknown":
        return Judgement(part, 1.0, Verdict.SURE)
    (kind, share), *rest = kind_shares(belief, seen.kind)
    told = part_confidence(seen, calibration)
    verdict = Verdict.SURE if told >= calibration.sure else Verdict.LIKELY
    if told < calibration.likely:
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
