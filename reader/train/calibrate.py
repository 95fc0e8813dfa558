"""Fits the probability of being right to answers whose truth is known, and draws how well it holds.

    python -m reader.train.calibrate ANSWERS.csv [--out reader/data/calibration.json]

ANSWERS.csv has one line for each answer that named a size: the columns of `reader.size.confidence
.NAMES`, `kind`, `right` (0 or 1) and `seat_right` (the same of the bead seat diameter alone), as
`reader.train.answers` writes them. The answers must come from pictures that nothing else was
trained or chosen on. Half of them fit the models, the other half checks them: error, plot and
thresholds come from that half.

A logistic model keeps its order and needs few answers (Platt, 'Probabilistic outputs for support
vector machines', 1999); the signs of its weights are held, so that what few answers happen to show
can't make better evidence count against a size. Expected calibration error with bins of equal
count: Nixon et al., 'Measuring calibration in deep learning', 2019.
"""

from __future__ import annotations

import argparse
import csv
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from reader.errors import InputError
from reader.size.confidence import (
    CLEAR_GAP,
    FILE,
    FORMAT,
    NAMES,
    SIGNS,
    SURE_COST,
    SURE_GAP,
    Features,
    Model,
    sigmoid,
)

Array = NDArray[np.float64]
FEWEST = 60  # answers of a kind below which it is left raw
SURE_RIGHT = 0.99
SURE_LEAST = 0.98  # no single answer is called sure below this, however good the others are
LIKELY_RIGHT = 0.8
BINS = 10
PENALTY = 1.0  # L2, on weights of standardised columns: 1 / scikit-learn's C
COLUMNS = (*NAMES, "kind", "right", "seat_right")


@dataclass(frozen=True, eq=False)
class Answers:
    """M answers: `features` M x F in the order of NAMES, `kind` (M), `right`, `seat_right` (M)."""

    features: Array
    kind: NDArray[np.str_]
    right: Array
    seat_right: Array

    def part(self, chosen: NDArray[np.bool_] | slice) -> Answers:
        """Some of the answers."""
        return Answers(
            self.features[chosen], self.kind[chosen], self.right[chosen], self.seat_right[chosen]
        )

    @property
    def raw(self) -> Array:
        """Raw belief in the size (M)."""
        return np.array([sigmoid(value) for value in self.features[:, NAMES.index("logit")]])

    @property
    def raw_seat(self) -> Array:
        """Raw belief in the bead seat diameter (M)."""
        return np.array([sigmoid(value) for value in self.features[:, NAMES.index("seat")]])


def write_answers(path: Path, answers: Iterable[tuple[Features, bool, bool]]) -> None:
    """Write answers (features, size right, diameter right) as the CSV that `read_answers` takes."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(COLUMNS)
        writer.writerows(
            [*(f"{value:.9g}" for value in seen.vector), seen.kind, int(right), int(seat)]
            for seen, right, seat in answers
        )


def read_answers(path: Path) -> Answers:
    """Read answers of known truth.

    Raises:
        InputError: the file is missing, empty, or lacks a column.
    """
    try:
        with path.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.DictReader(stream))
        features = np.array([[float(row[name]) for name in NAMES] for row in rows])
        right, seat = (np.array([float(row[key]) for row in rows]) for key in COLUMNS[-2:])
        kinds = np.array([row["kind"] for row in rows])
    except (OSError, KeyError, TypeError, ValueError) as error:
        wanted = ", ".join(COLUMNS)
        raise InputError(f"can't use {path} ({error})", f"give a CSV with {wanted}") from error
    if not len(rows):
        raise InputError(f"{path} has no answers", "run the reader over pictures of known truth")
    return Answers(features, kinds, right, seat)


def fit(answers: Answers, seat: bool = False) -> dict[str, Model]:
    """A logistic model for each kind that has answers enough.

    Args:
        answers: to fit to.
        seat: whether of the bead seat diameter alone.
    """
    models = {}
    for kind in sorted(set(answers.kind.tolist())):
        mine = answers.part(answers.kind == kind)
        right = mine.seat_right if seat else mine.right
        if len(right) >= FEWEST:
            models[str(kind)] = fit_logistic(mine.features, right, SIGNS)
    return models


def fit_logistic(features: Array, right: Array, signs: Sequence[int]) -> Model:
    """Logistic regression, L2-penalised, each weight held to its sign (0: free).

    Targets are Platt's, a little inside 0 and 1: no count of right answers proves certainty.

    Args:
        features: M x F.
        right: M, 0 or 1.
        signs: F, +1, -1 or 0.
    """
    from scipy.optimize import minimize

    ones = right.sum()
    target = np.where(right > 0, (ones + 1) / (ones + 2), 1 / (len(right) - ones + 2))
    middle, spread = features.mean(axis=0), np.maximum(features.std(axis=0), 1e-9)
    scaled = np.column_stack([np.ones(len(right)), (features - middle) / spread])
    scaled[:, 1:][:, features.std(axis=0) < 1e-9] = 0.0

    def loss(weights: Array) -> tuple[float, Array]:
        odds = scaled @ weights
        value = (
            np.logaddexp(0, odds).sum() - target @ odds + PENALTY / 2 * weights[1:] @ weights[1:]
        )
        slope = scaled.T @ (1 / (1 + np.exp(-odds)) - target)
        slope[1:] += PENALTY * weights[1:]
        return float(value), slope

    limits = {1: (0.0, None), -1: (None, 0.0), 0: (None, None)}
    bounds = [(None, None), *(limits[sign] for sign in signs)]
    found = minimize(loss, np.zeros(len(bounds)), jac=True, method="L-BFGS-B", bounds=bounds).x
    weights = found[1:] / spread
    return Model(float(found[0] - weights @ middle), tuple(float(w) for w in weights))


def predict(models: dict[str, Model], answers: Answers, seat: bool = False) -> Array:
    """Probabilities (M); kinds without a model keep their raw belief, names never exceed it."""
    out = []
    raws = answers.raw_seat if seat else answers.raw
    for row, kind, raw in zip(answers.features, answers.kind.tolist(), raws, strict=True):
        model = models.get(kind)
        value = raw if model is None else sigmoid(model.bias + float(row @ model.weights))
        out.append(value if kind == "pair" else min(value, raw))
    return np.array(out)


def bins(probability: Array, right: Array, count: int = BINS) -> list[tuple[float, float, int]]:
    """Bins of equal count: mean probability, share right, how many."""
    order = np.array_split(np.argsort(probability, kind="stable"), count)
    return [
        (float(probability[some].mean()), float(right[some].mean()), len(some))
        for some in order
        if len(some)
    ]


def calibration_error(probability: Array, right: Array, count: int = BINS) -> float:
    """Expected calibration error: mean distance of said and found, weighted by bin size.

    >>> calibration_error(np.array([0.5] * 4), np.array([0.0, 1.0, 1.0, 0.0]), count=1)
    0.0
    """
    found = bins(probability, right, count)
    return sum(abs(said - was) * many for said, was, many in found) / len(right)


def threshold(probability: Array, right: Array, wanted: float, lowest: float) -> float:
    """The lowest probability from which on at least `wanted` of all answers are right.

    One more wrong answer than was seen is assumed, so that few answers do not make a bold
    threshold (rule of succession). Never below `lowest`; 1.0001, so never reached, if nothing does.
    """
    order = np.argsort(-probability, kind="stable")
    share = np.cumsum(right[order]) / (np.arange(len(right)) + 2)
    good = np.flatnonzero(share >= wanted)
    return max(float(probability[order[good[-1]]]), lowest) if len(good) else 1.0001


def eligible(answers: Answers) -> NDArray[np.bool_]:
    """Which answers could be called sure at all: pairs, clearly read, far from the next size."""
    gap, cost = (answers.features[:, NAMES.index(name)] for name in ("gap", "cost"))
    return (answers.kind == "pair") & (gap >= SURE_GAP) & (cost <= SURE_COST)


def calibrate(answers: Answers, note: str, seed: int = 0) -> tuple[dict[str, object], Checked]:
    """Fit on one half, check on the other; returns the calibration file's content too."""
    halves = np.random.default_rng(seed).permutation(len(answers.right)) % 2 == 0
    models, seats = (fit(answers.part(halves), seat) for seat in (False, True))
    check = answers.part(~halves)
    said, said_seat = predict(models, check), predict(seats, check, seat=True)
    could = eligible(check)
    clear = check.features[:, NAMES.index("gap")] >= CLEAR_GAP
    data: dict[str, object] = {
        "format": FORMAT,
        "fitted_on": note,
        "count": len(answers.right),
        "ece": round(calibration_error(said, check.right), 4),
        "seat_ece": round(calibration_error(said_seat, check.seat_right), 4),
        "sure": round(threshold(said[could], check.right[could], SURE_RIGHT, SURE_LEAST), 4),
        "likely": round(threshold(said[clear], check.right[clear], LIKELY_RIGHT, LIKELY_RIGHT), 4),
        "kinds": {
            kind: {"size": _rounded(models[kind]), "seat": _rounded(seats[kind])}
            for kind in sorted(models.keys() & seats.keys())
        },
    }
    return data, Checked(check, said, said_seat, could)


@dataclass(frozen=True, eq=False)
class Checked:
    """The checking half: answers, probabilities of size and diameter (M), which may be sure (M)."""

    answers: Answers
    said: Array
    said_seat: Array
    could: NDArray[np.bool_]

    def summary(self, sure: float) -> str:
        """How many were sure, and how many of those right, in words."""
        mine = self.could & (self.said >= sure)
        count, right = int(mine.sum()), int(self.answers.right[mine].sum())
        return f"{count} of {len(self.said)} sure, {count - right} of them wrong"


def _rounded(model: Model) -> dict[str, object]:
    return {"bias": round(model.bias, 4), "weights": [round(w, 4) for w in model.weights]}


def draw(path: Path, probability: Array, right: Array) -> None:
    """Write the reliability plot as PNG: said against found, and how many answers stand where."""
    from matplotlib.figure import Figure

    found = bins(probability, right)
    figure = Figure(figsize=(5, 6), layout="constrained")
    top, below = figure.subplots(2, 1, height_ratios=[3, 1], sharex=True)
    top.plot([0, 1], [0, 1], color="0.7", label="as said")
    said, was, many = (np.array(column) for column in zip(*found, strict=True))
    spread = np.sqrt(was * (1 - was) / many)
    top.errorbar(said, was, yerr=spread, fmt="o-", color="tab:blue", capsize=2, label="found")
    error = calibration_error(probability, right)
    top.set(ylabel="share right", ylim=(0, 1.02), title=f"Calibration error {error:.3f}")
    top.legend(loc="upper left")
    below.hist(probability, bins=np.linspace(0, 1, 21).tolist(), color="tab:blue")
    below.set(xlabel="probability said", ylabel="answers", xlim=(0, 1.02))
    figure.savefig(path, dpi=120)


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, write the calibration and, beside it, the plot."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.calibrate", description=__doc__)
    parser.add_argument("answers", type=Path)
    parser.add_argument("--out", type=Path, default=FILE)
    parser.add_argument("--note", default="", help="on what it was fitted, and when")
    chosen = parser.parse_args(arguments)
    data, checked = calibrate(read_answers(chosen.answers), chosen.note or chosen.answers.name)
    chosen.out.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    plot = chosen.out.with_suffix(".png")
    draw(plot, checked.said, checked.answers.right)
    print(f"wrote {chosen.out} and {plot}")
    print(f"error {data['ece']} (diameter alone {data['seat_ece']}), sure from {data['sure']}")
    print(f"checking half: {checked.summary(float(str(data['sure'])))}")


if __name__ == "__main__":
    main()
