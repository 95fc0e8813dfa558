"""Fits the probability of being right to answers whose truth is known, and draws how well it holds.

    python -m reader.train.calibrate.fit ANSWERS.csv [--out reader/data/calibration.json]

ANSWERS.csv has one line for each answer that named a size: the columns of
`reader.resolve.calibration.NAMES`, `kind`, `right` (0 or 1) and `seat_right` (the same of the
bead seat diameter alone), as
`reader.train.calibrate.collect` writes them. The answers must come from pictures that nothing else
was trained or chosen on. Each half of them is checked by models fitted on the other half: error,
plot
and thresholds come from these checks. The models that ship are then fitted on both.

A logistic model keeps its order and needs few answers (Platt, 'Probabilistic outputs for support
vector machines', 1999); the signs of its weights are held, so that what few answers happen to show
can't make better evidence count against a size.
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
from reader.resolve.calibration import (
    CLEAR_GAP,
    FILE,
    FORMAT,
    NAMES,
    SIGNS,
    SURE_COST,
    SURE_GAP,
    Features,
    Model,
    calibrated,
    sigmoid,
)
from reader.train.calibrate.reliability import calibration_error, draw, threshold

Array = NDArray[np.float64]
FEWEST = 60  # answers of a kind below which it is left raw
SURE_RIGHT = 0.99
SURE_LEAST = 0.98  # no single answer is called sure below this, however good the others are
LIKELY_RIGHT = 0.8
PENALTY = 1.0  # L2, on weights of standardised columns: 1 / scikit-learn's C
COLUMNS = (*NAMES, "kind", "right", "seat_right")

AS_BELIEVED = Model(0.0, tuple(float(name == "logit") for name in NAMES))


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
        if len(right) < FEWEST:
            continue
        # which size a name means the tables say; the drawn parts follow the same tables, so a
        # model of that could only learn their chance
        free = kind == "name" and not seat
        models[str(kind)] = AS_BELIEVED if free else fit_logistic(mine.features, right, SIGNS)
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
    """Probabilities (M) as the reader will tell them, see `confidence.calibrated`."""
    raws = answers.raw_seat if seat else answers.raw
    rows = zip(answers.features, answers.kind.tolist(), raws, strict=True)
    return np.array([calibrated(models.get(k), row, float(raw), k) for row, k, raw in rows])


def eligible(answers: Answers) -> NDArray[np.bool_]:
    """Which answers could be called sure at all: pairs, clearly read, far from the next size."""
    gap, cost = (answers.features[:, NAMES.index(name)] for name in ("gap", "cost"))
    return (answers.kind == "pair") & (gap >= SURE_GAP) & (cost <= SURE_COST)


def calibrate(answers: Answers, note: str, seed: int = 0) -> tuple[dict[str, object], Checked]:
    """Check each half by models of the other, fit on both; returns the file's content too."""
    halves = np.random.default_rng(seed).permutation(len(answers.right)) % 2 == 0
    said, said_seat = np.zeros(len(halves)), np.zeros(len(halves))
    for half in (halves, ~halves):
        checked, others = answers.part(half), answers.part(~half)
        said[half] = predict(fit(others), checked)
        said_seat[half] = predict(fit(others, seat=True), checked, seat=True)
    models, seats = fit(answers), fit(answers, seat=True)
    could = eligible(answers)
    clear = answers.features[:, NAMES.index("gap")] >= CLEAR_GAP
    data: dict[str, object] = {
        "format": FORMAT,
        "fitted_on": note,
        "count": len(answers.right),
        "ece": round(calibration_error(said, answers.right), 4),
        "seat_ece": round(calibration_error(said_seat, answers.seat_right), 4),
        "sure": round(threshold(said[could], answers.right[could], SURE_RIGHT, SURE_LEAST), 4),
        "likely": round(
            threshold(said[clear], answers.right[clear], LIKELY_RIGHT, LIKELY_RIGHT), 4
        ),
        "kinds": {
            kind: {"size": _rounded(models[kind]), "seat": _rounded(seats[kind])}
            for kind in sorted(models.keys() & seats.keys())
        },
    }
    return data, Checked(answers, said, said_seat, could)


@dataclass(frozen=True, eq=False)
class Checked:
    """The checks: answers, probabilities of size and diameter (M), which may be sure (M)."""

    answers: Answers
    said: Array
    said_seat: Array
    could: NDArray[np.bool_]

    def counts(self, sure: float, likely: float) -> list[tuple[str, int, int]]:
        """How many were sure, likely and left open, and how many of each were wrong."""
        clear = self.answers.features[:, NAMES.index("gap")] >= CLEAR_GAP
        is_sure = self.could & (self.said >= sure)
        is_likely = clear & (self.said >= likely) & ~is_sure
        kinds = {"sure": is_sure, "likely": is_likely, "can't tell": ~is_sure & ~is_likely}
        wrong = self.answers.right == 0
        return [(name, int(m.sum()), int((m & wrong).sum())) for name, m in kinds.items()]


def _rounded(model: Model) -> dict[str, object]:
    return {"bias": round(model.bias, 4), "weights": [round(w, 4) for w in model.weights]}


def describe(data: dict[str, object], counts: Sequence[tuple[str, int, int]]) -> str:
    """The card: what was fitted on what, how well it holds, what it can't say."""
    rows = "\n".join(f"| {name} | {count} | {wrong} |" for name, count, wrong in counts)
    return f"""# Card: `calibration.json`, how often an answer is right
- **What:** logistic models that turn a reading's belief and the signs beside it into the
  probability that the size, and that the bead seat diameter alone, is right
  (`reader/resolve/calibration.py`).
- **Data:** {data["count"]} answers to rendered photographs ({data["fitted_on"]}), with seeds,
  textures and lettering that no model was trained on; half told what part it is, half not. Each
  half was checked by models fitted on the other, which gave these figures and the thresholds.
- **Checked:** expected calibration error {data["ece"]} for the size, {data["seat_ece"]}
  for the diameter; sure from {data["sure"]}, likely from {data["likely"]}
  (plot: `calibration.png`).

| verdict | answers | wrong |
|---|---|---|
{rows}

- **Limits:** rendered photographs only, never measured on real ones; an inch or French name is
  held to what the tables allow; a contradiction takes a verdict one step down whatever the
  probability.
- **Rebuild:** `python -m reader.train.calibrate.collect --photos 110 --workers 14
  --device cuda`, then
  `python -m reader.train.calibrate.fit carry/answers.csv`.
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, write the calibration and, beside it, the plot."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.calibrate.fit", description=__doc__
    )
    parser.add_argument("answers", type=Path)
    parser.add_argument("--out", type=Path, default=FILE)
    parser.add_argument("--note", default="", help="on what it was fitted, and when")
    chosen = parser.parse_args(arguments)
    data, checked = calibrate(read_answers(chosen.answers), chosen.note or chosen.answers.name)
    chosen.out.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    plot = chosen.out.with_suffix(".png")
    draw(plot, checked.said, checked.answers.right)
    counts = checked.counts(float(str(data["sure"])), float(str(data["likely"])))
    card = chosen.out.with_suffix(".md")
    card.write_text(describe(data, counts), encoding="utf-8")
    print(f"wrote {chosen.out}, {card} and {plot}")
    print(f"error {data['ece']} (diameter alone {data['seat_ece']}), sure from {data['sure']}")
    for name, count, wrong in counts:
        print(f"checked: {count} {name}, {wrong} of them wrong")


if __name__ == "__main__":
    main()
