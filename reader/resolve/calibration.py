"""From raw belief to a probability that holds, and from that to a verdict.

`reader/data/calibration.json`, written by `reader.train.calibrate.fit`, holds logistic models for
each kind of evidence, one of the whole size and one of the bead seat diameter (`seat`) alone, and
the thresholds:

    {"format": 2, "fitted_on": "what and when", "count": 4000, "ece": 0.012, "seat_ece": 0.01,
     "sure": 0.99, "likely": 0.8,
     "kinds": {"pair": {"size": {"bias": -1.2, "weights": [0.9, 0.1, …]}, "seat": {…}},
               "name": {…}, "tube": {…}},
     "widths": {"pair": {"bias": 0.1, "slope": 0.9}, …}, "parts": {…}, "seat_lines": {"name": {…}}}

The last three, of the width, of the kind of part and of a diameter by name, are Platt's: a line
through the log-odds.

Weights stand in the order of `NAMES`; their signs are as in `SIGNS`, so that better evidence never
makes an answer less probable. A kind that is missing stays as it is. Without the file the raw
belief is shown, said to be uncalibrated, and held to stricter thresholds.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from reader.errors import InputError
from reader.records import Doubt, Verdict

Basis = Literal["pair", "name", "tube"]

FILE = Path(__file__).parents[1] / "data" / "calibration.json"
FORMAT = 2
NAMES = (
    "logit", "gap", "seat", "seat_gap", "cost", "margin", "places", "notations", "agreement",
    "height", "told", "contradiction",
)  # fmt: skip
SIGNS = (1, 1, 1, 1, -1, 1, 1, 1, 1, 1, 1, -1)  # which way each may move the probability
CLIP = 8.0  # beyond that, log-odds say nothing more
MOST_BY_LINE = 0.97  # a line through few answers proves no more, least of all for a name
MOST_LIFT = 3.0  # natural-log odds
MOST_MARGIN = 8.0
MOST_NOTATIONS = 3  # judgement: further agreeing ones prove little more
HEIGHTS = (-1.5, 2.5)  # log2 of letters' height beside 16 pixels: 6 to 90
RAW_SURE = 0.98  # where no model was fitted for the kind
RAW_LIKELY = 0.8  # likewise
SURE_COST = 2.5  # a pair that assumes more damage than this is never sure
WEAK_COST = 0.4  # of what one look alone reads, or what is covered, from which it is not told
SURE_GAP = 2.0  # natural-log odds against the runner-up
CLEAR_GAP = 0.7
NEAR_LETTERS = 1.2  # nats within which another reading of a name's letters leaves it open: 26, 28
NAME_LIKELY = 0.95  # raw belief below which an inch or French name leaves the size open


@dataclass(frozen=True)
class Features:
    """What the calibration looks at.

    `probability` raw belief in the best size, 0..1; `gap` natural-log odds against the next size;
    `cost` of the clearest marking that names it; `places` that speak for it (a repetition counts
    a part); `agreement` share of looks at those places whose best reading agrees; `kind` of the
    best evidence; `memory` no read source stands behind it; `contradiction` clear markings differ,
    `names_differ` but the only ones against a pair are inch or French names; `cut` by the photo's
    edge where it was read best, `doubt` as its marking has it;
    `seat` raw belief in the bead seat diameter, `seat_gap` odds against the next one; `margin` by
    how much reading the same letters as another size costs more, `seat_margin` as one of another
    diameter; `notations` that agree;
    `height` of the line, log2 in units of 16 pixels; `told` what part it is; `width` and `part`
    raw belief in the width and in the kind of part.
    """

    probability: float
    gap: float
    cost: float
    places: float
    agreement: float
    kind: Basis
    memory: bool = False
    contradiction: bool = False
    names_differ: bool = False
    cut: bool = False
    doubt: Doubt = ""
    seat: float = 0.0
    seat_gap: float = 0.0
    margin: float = MOST_MARGIN
    seat_margin: float = MOST_MARGIN
    notations: int = 1
    height: float = 1.0
    told: bool = True
    width: float = 0.0
    part: float = 0.0

    @property
    def is_weak(self) -> bool:
        """Whether one look alone, none too clear, is all it rests on: that tells nothing."""
        return bool(self.doubt) and self.cost > WEAK_COST

    @property
    def vector(self) -> tuple[float, ...]:
        """The numbers that the logistic model takes, in the order of `NAMES`."""
        return (
            logit(self.probability),
            _held(self.gap, -CLIP, CLIP),
            logit(max(self.seat, self.probability)),
            _held(self.seat_gap, -CLIP, CLIP),
            self.cost,
            _held(self.margin, -CLIP, MOST_MARGIN),
            math.log1p(self.places),
            float(min(self.notations, MOST_NOTATIONS)),
            self.agreement,
            _held(self.height, *HEIGHTS),
            float(self.told),
            float(self.contradiction),
        )


def _held(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


@dataclass(frozen=True)
class Model:
    """A logistic model: probability = sigmoid(bias + weights · vector)."""

    bias: float
    weights: tuple[float, ...]


@dataclass(frozen=True)
class Line:
    """Platt's model of one number: log-odds = bias + slope * log-odds believed."""

    bias: float
    slope: float

    def told(self, raw: float) -> float:
        """The probability that a raw belief stands for."""
        return sigmoid(self.bias + self.slope * logit(raw))


AS_BELIEVED = Line(0.0, 1.0)


@dataclass(frozen=True)
class Calibration:
    """Fitted models by kind of evidence, and the thresholds that were checked with them."""

    kinds: Mapping[str, Model] = field(default_factory=dict)
    seats: Mapping[str, Model] = field(default_factory=dict)
    seat_lines: Mapping[str, Line] = field(default_factory=dict)
    widths: Mapping[str, Line] = field(default_factory=dict)
    parts: Mapping[str, Line] = field(default_factory=dict)
    sure: float = RAW_SURE
    likely: float = RAW_LIKELY
    fitted: bool = False


UNCALIBRATED = Calibration()


def logit(probability: float) -> float:
    """Natural-log odds, clipped to ±CLIP.

    >>> round(logit(0.9), 3), logit(1.0)
    (2.197, 8.0)
    """
    if not 0 < probability < 1:
        return math.copysign(CLIP, probability - 0.5)
    return min(max(math.log(probability / (1 - probability)), -CLIP), CLIP)


def sigmoid(value: float) -> float:
    """The probability with these natural-log odds."""
    # beyond, exp overflows or nothing changes
    return 1 / (1 + math.exp(-min(max(value, -50.0), 50.0)))


@lru_cache(maxsize=4)
def load_calibration(path: Path = FILE) -> Calibration:
    """Read the calibration, or say that there is none.

    Raises:
        InputError: the file is there, but not in the format described above.
    """
    if not path.exists():
        return UNCALIBRATED
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["format"] != FORMAT:
            raise ValueError(f"format {data['format']} is not {FORMAT}")
        kinds = {kind: _model(models["size"]) for kind, models in data["kinds"].items()}
        seats = {kind: _model(models["seat"]) for kind, models in data["kinds"].items()}
        seat_lines, widths, parts = (
            {kind: Line(float(one["bias"]), float(one["slope"])) for kind, one in lines.items()}
            for lines in (data.get(key, {}) for key in ("seat_lines", "widths", "parts"))
        )
        sure, likely = float(data["sure"]), float(data["likely"])
        return Calibration(kinds, seats, seat_lines, widths, parts, sure, likely, fitted=True)
    except (OSError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"can't use the calibration {path} ({error})",
            "put back the shipped file, or delete it to go on uncalibrated",
        ) from error


def _model(data: Mapping[str, Any]) -> Model:
    weights = tuple(float(weight) for weight in data["weights"])
    if len(weights) != len(NAMES):
        raise ValueError(f"{len(weights)} weights instead of {len(NAMES)}")
    if any(weight * sign < 0 for weight, sign in zip(weights, SIGNS, strict=True)):
        raise ValueError("a weight has the wrong sign")
    return Model(float(data["bias"]), weights)


def confidence(features: Features, calibration: Calibration) -> float:
    """The probability that the best size is right, 0..1."""
    model = calibration.kinds.get(features.kind)
    told = calibrated(model, features.vector, features.probability, features.kind)
    return min(told, MOST_BY_LINE) if features.kind in calibration.seat_lines else told


def seat_confidence(features: Features, calibration: Calibration) -> float:
    """The probability that the bead seat diameter is right, whatever the width; 0..1."""
    raw = max(features.seat, features.probability)
    if features.kind in calibration.seat_lines:
        told = calibration.seat_lines[features.kind].told(raw)
        return min(max(told, confidence(features, calibration)), MOST_BY_LINE)
    model = calibration.seats.get(features.kind)
    seat = calibrated(model, features.vector, raw, features.kind)
    return max(seat, confidence(features, calibration))


def width_confidence(features: Features, calibration: Calibration) -> float:
    """The probability that the width is right, whatever the diameter; 0..1."""
    told = calibration.widths.get(features.kind, AS_BELIEVED).told(features.width)
    return max(told, confidence(features, calibration))


def part_confidence(features: Features, calibration: Calibration) -> float:
    """The probability that the kind of part is right, 0..1."""
    return calibration.parts.get(features.kind, AS_BELIEVED).told(features.part)


def calibrated(model: Model | None, vector: Sequence[float], raw: float, kind: str) -> float:
    """What a model makes of a raw belief; the belief itself without one.

    What an inch or French name leaves open no better reading closes, and no set of pictures tells
    how often which size is meant; so a name is never believed more than the tables allow. A pair's
    odds are lifted at most by MOST_LIFT: pictures that were seldom doubtful can't overturn a doubt.
    """
    if model is None:
        return raw
    pairs = zip(model.weights, vector, strict=True)
    odds = model.bias + sum(weight * value for weight, value in pairs)
    return sigmoid(min(odds, logit(raw) + MOST_LIFT)) if kind == "pair" else min(sigmoid(odds), raw)


def judge(features: Features, probability: float, calibration: Calibration) -> Verdict:
    """Verdict on the best size, given its probability; never NONE, as something was read."""
    likely = probability >= calibration.likely and features.gap >= CLEAR_GAP
    likely = likely and not features.is_weak
    if features.kind == "name":
        likely = likely and features.probability >= NAME_LIKELY
    sure = (
        probability >= calibration.sure
        and features.gap >= SURE_GAP
        and features.kind == "pair"
        and features.cost <= SURE_COST
        and not features.memory
        and not (features.cut or features.doubt)
    )
    if features.contradiction:  # one step down
        likely, sure = sure or (likely and features.names_differ), False
    if sure:
        return Verdict.SURE
    return Verdict.LIKELY if likely else Verdict.CANT_TELL


def judge_seat(features: Features, probability: float, calibration: Calibration) -> Verdict:
    """Verdict on the bead seat diameter alone; a name tells it, but never for sure."""
    likely = probability >= calibration.likely and features.seat_gap >= CLEAR_GAP
    likely = likely and not features.is_weak
    sure = (
        probability >= calibration.sure
        and features.seat_gap >= SURE_GAP
        and features.kind == "pair"
        and features.cost <= SURE_COST
        and not (features.memory or features.cut or features.doubt or features.contradiction)
    )
    if features.contradiction:
        likely = likely and features.names_differ
    if features.kind == "name":  # looks at the same letters are no second witness
        likely = likely and features.seat_margin >= NEAR_LETTERS
    if sure:
        return Verdict.SURE
    return Verdict.LIKELY if likely else Verdict.CANT_TELL
