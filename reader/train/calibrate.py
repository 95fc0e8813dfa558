"""Fits the probability of being right to answers whose truth is known, and draws how well it holds.

    python -m reader.train.calibrate ANSWERS.csv [--out reader/data/calibration.json]

ANSWERS.csv has one line for each answer that named a size: the columns of `reader.size.confidence
.NAMES`, `kind` and `right` (0 or 1), as `write_answers` writes them. The answers must come from
pictures that nothing else was trained or chosen on. Half of them fit the model, the other half
checks it: error, plot and thresholds come from that half.

A logistic model keeps its order and needs few answers (Platt, 'Probabilistic outputs for support
vector machines', 1999). Expected calibration error with bins of equal count: Nixon et al.,
'Measuring calibration in deep learning', 2019.
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
    SURE_COST,
    SURE_GAP,
    Features,
    Model,
    sigmoid,
)

Array = NDArray[np.float64]
FEWEST = 60  # answers of a kind, right and wrong ones among them, below which it is left raw
SURE_RIGHT = 0.99
LIKELY_RIGHT = 0.8
BINS = 10
STRENGTH = 1.0  # of the L2 penalty, as scikit-learn's C


@dataclass(frozen=True, eq=False)
class Answers:
    """M answers: `features` M x F in the order of NAMES, `kind` (M), `right` (M, 0 or 1)."""

    features: Array
    kind: NDArray[np.str_]
    right: Array

    def part(self, chosen: NDArray[np.bool_] | slice) -> Answers:
        """Some of the answers."""
        return Answers(self.features[chosen], self.kind[chosen], self.right[chosen])


def write_answers(path: Path, answers: Iterable[tuple[Features, bool]]) -> None:
    """Write answers as the CSV that `read_answers` takes."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow([*NAMES, "kind", "right"])
        writer.writerows([*seen.vector, seen.kind, int(right)] for seen, right in answers)


def read_answers(path: Path) -> Answers:
    """Read answers of known truth.

    Raises:
        InputError: the file is missing, empty, or lacks a column.
    """
    try:
        with path.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.DictReader(stream))
        features = np.array([[float(row[name]) for name in NAMES] for row in rows])
        right = np.array([float(row["right"]) for row in rows])
        kinds = np.array([row["kind"] for row in rows])
    except (OSError, KeyError, TypeError, ValueError) as error:
        wanted = ", ".join([*NAMES, "kind", "right"])
        raise InputError(f"can't use {path} ({error})", f"give a CSV with {wanted}") from error
    if not len(rows):
        raise InputError(f"{path} has no answers", "run the reader over pictures of known truth")
    return Answers(features, kinds, right)


def fit(answers: Answers) -> dict[str, Model]:
    """A logistic model for each kind that has answers enough, right and wrong ones."""
    from sklearn.linear_model import LogisticRegression

    models = {}
    for kind in sorted(set(answers.kind.tolist())):
        mine = answers.part(answers.kind == kind)
        if len(mine.right) < FEWEST or len(set(mine.right.tolist())) < 2:
            continue
        fitted = LogisticRegression(C=STRENGTH, max_iter=2000).fit(mine.features, mine.right)
        models[str(kind)] = Model(
            float(fitted.intercept_[0]), tuple(float(w) for w in fitted.coef_[0])
        )
    return models


def predict(models: dict[str, Model], answers: Answers) -> Array:
    """Probabilities (M); kinds without a model keep their raw belief, names never exceed it."""
    out = []
    for row, kind in zip(answers.features, answers.kind.tolist(), strict=True):
        raw = sigmoid(float(row[0]))
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


def calibrate(answers: Answers, note: str, seed: int = 0) -> tuple[dict[str, object], Array, Array]:
    """Fit on one half, check on the other.

    Returns:
        The calibration file's content, and the probabilities and truths of the checking half.
    """
    halves = np.random.default_rng(seed).permutation(len(answers.right)) % 2 == 0
    models = fit(answers.part(halves))
    check = answers.part(~halves)
    said = predict(models, check)
    could = eligible(check)
    clear = check.features[:, NAMES.index("gap")] >= CLEAR_GAP
    data: dict[str, object] = {
        "format": FORMAT,
        "fitted_on": note,
        "count": len(answers.right),
        "ece": round(calibration_error(said, check.right), 4),
        "sure": round(threshold(said[could], check.right[could], SURE_RIGHT, SURE_RIGHT), 4),
        "likely": round(threshold(said[clear], check.right[clear], LIKELY_RIGHT, LIKELY_RIGHT), 4),
        "kinds": {
            kind: {"bias": round(model.bias, 4), "weights": [round(w, 4) for w in model.weights]}
            for kind, model in models.items()
        },
    }
    return data, said, check.right


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
    data, said, right = calibrate(read_answers(chosen.answers), chosen.note or chosen.answers.name)
    chosen.out.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    plot = chosen.out.with_suffix(".png")
    draw(plot, said, right)
    print(f"wrote {chosen.out} and {plot}: error {data['ece']}, sure from {data['sure']}")


if __name__ == "__main__":
    main()
