"""The three answers, each judged alone: bead seat diameter, width, and kind of part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from reader.records import Judgement, KindOfPart, PartKind, Verdict
from reader.resolve.calibration import Calibration, Features, judge, judge_seat
from reader.resolve.features import NOMINAL
from reader.resolve.posterior import Belief

OTHERS = 4  # rivals of one answer that are told
LEAST = 0.01  # a rival's probability
KIND_SURE, KIND_LIKELY = 0.99, 0.8
TYRE_BY_NAME = 0.85  # a name alone stands on tyres mostly, on rims too; common practice, no source

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
        probability: that the whole size is right, calibrated: at least as probable is the width.
        size: verdict on the whole size.
        calibration: its thresholds.
    """
    chosen = belief.best()[0].width
    shares = belief.by_width()
    if chosen is None:
        return Judgement(others=rivals(shares, 0.0, 0.0))
    nominal = seen.kind == "name"
    slack = NOMINAL if nominal else 0.0
    share = sum(s for width, s in shares if abs(width - chosen) <= slack)
    rest = [(w, s) for w, s in shares if abs(w - chosen) > slack]
    told = max(probability, min(share, calibration.sure - 1e-6))
    verdict = better(size, judge(seen, probability, calibration))
    if verdict is Verdict.CANT_TELL and told >= calibration.likely:
        verdict = Verdict.LIKELY
    return Judgement(chosen, told, verdict, rivals(rest, share, told), nominal)


def judge_kind(belief: Belief, seen: Features, part: PartKind) -> Judgement[KindOfPart]:
    """What kind of part it is; a user who said so is believed.

    Args:
        belief: with one heading at least.
        seen: what the calibration looks at.
        part: what the user says.
    """
    if part != "unknown":
        return Judgement(part, 1.0, Verdict.SURE)
    shares = sorted(belief.by_part().items(), key=lambda item: -item[1])
    named = [(kind, share) for kind, share in shares if kind != "unknown"]
    if not named:
        return Judgement()
    (kind, share), *rest = named
    if seen.kind == "name" and kind == "tyre" and not belief.beside.any():
        share, rest = min(share, TYRE_BY_NAME), [("rim", 1 - min(share, TYRE_BY_NAME))]
    verdict = Verdict.SURE if share >= KIND_SURE else Verdict.LIKELY
    if share < KIND_LIKELY:
        verdict = Verdict.CANT_TELL
    return Judgement(kind, share, verdict, rivals(rest, share, share))


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
