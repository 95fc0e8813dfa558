"""Fits how probable a width, and a kind of part, is right: a line through the believed log-odds.

    python -m reader.train.calibrate.lines carry/evidence.bin

weighs the parts that `reader.train.calibrate.collect` kept and puts the lines for each kind of
evidence into reader/data/calibration.json, with their figures on a card beside it. Each half of
the parts is checked by lines fitted on the other.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from reader.resolve.calibration import AS_BELIEVED, FILE, Line, logit
from reader.resolve.features import NOMINAL
from reader.resolve.resolve import evidence_features, resolve
from reader.tables import Tables, load_tables
from reader.train.calibrate.collect import Kept, load, true_size

Array = NDArray[np.float64]

CARD = FILE.with_name("calibration_lines.md")
LINES = ("widths", "parts", "seat_lines")
PULL = 4.0  # parts' worth of belief that a line is right as it stands
FEWEST = 12  # answers of a kind of evidence below which its line stays as it is


@dataclass(frozen=True)
class Answered:
    """One answer: what it rests on, raw beliefs, and whether they are right; None: not told."""

    basis: str
    width: float
    width_right: bool | None
    part: float
    part_right: bool | None
    seat: float
    seat_right: bool | None


def answered(kept: Kept, tables: Tables) -> Answered | None:
    """What was answered to one part, `None` where no size was named."""
    facts = kept.facts[0]
    named = evidence_features(kept.markings, "unknown", tables)
    if named is None:
        return None
    size, seen = named
    truth = true_size(facts, tables, kept.job.seeds[0])
    reading = resolve(kept.markings, "unknown", tables)
    right: bool | None = None
    if size.width is not None:
        slack = NOMINAL if seen.kind == "name" else 0.0
        wide = None if truth is None else truth.width
        right = wide is not None and abs(size.width - wide) <= slack
    kind = reading.kind.value
    part = None if kind is None or facts.part == "none" else kind == facts.part
    true = truth is not None and truth.bsd == size.bsd
    seat = max(seen.seat, seen.probability)
    return Answered(seen.kind, seen.width, right, seen.part, part, seat, true)


def fit_line(raw: Array, right: Array) -> Line:
    """A logistic line through log-odds, pulled towards believing what is believed."""
    from scipy.optimize import minimize

    x = np.array([logit(value) for value in raw])

    def loss(at: Array) -> float:
        odds = at[0] + at[1] * x
        pull = PULL / 2 * (at[0] ** 2 + (at[1] - 1) ** 2)
        return float(np.logaddexp(0, odds).sum() - right @ odds + pull)

    bias, slope = minimize(loss, [0.0, 1.0], bounds=[(None, None), (0.05, None)]).x
    return Line(float(bias), float(slope))


def checked(raw: Array, right: Array) -> tuple[Line, Array]:
    """The line of all answers, and probabilities of each half by the line of the other."""
    halves = np.random.default_rng(0).permutation(len(raw)) % 2 == 0
    said = np.zeros(len(raw))
    for half in (halves, ~halves):
        line = fit_line(raw[~half], right[~half])
        said[half] = [line.told(value) for value in raw[half]]
    return fit_line(raw, right), said


def log_loss(said: Array, right: Array) -> float:
    """Mean natural-log loss."""
    held = np.clip(said, 1e-3, 1 - 1e-3)
    return float(-np.mean(right * np.log(held) + (1 - right) * np.log(1 - held)))


def fit_all(answers: Sequence[Answered], what: str) -> tuple[dict[str, Line], list[str]]:
    """Lines by kind of evidence for 'width' or 'part', and a row of the card for each."""
    lines, rows = {}, []
    for basis in sorted({one.basis for one in answers}):
        mine = [
            (getattr(one, what), getattr(one, f"{what}_right"))
            for one in answers
            if one.basis == basis and getattr(one, f"{what}_right") is not None
        ]
        if len(mine) < FEWEST:
            continue
        raw, right = np.array(mine, float).T
        line, said = checked(raw, right)
        as_believed = np.array([AS_BELIEVED.told(value) for value in raw])
        gains = log_loss(said, right) < log_loss(as_believed, right)
        if gains:
            lines[basis] = line
        rows.append(
            f"| {what} | {basis} | {len(raw)} | {right.mean():.2f} | {raw.mean():.2f} | "
            f"{said.mean():.2f} | {log_loss(as_believed, right):.3f} | "
            f"{log_loss(said, right):.3f} | {'kept' if gains else 'left as believed'} |"
        )
    return lines, rows


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, check, write."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.calibrate.lines", description=__doc__
    )
    parser.add_argument("evidence", nargs="+", type=Path)
    parser.add_argument("--file", type=Path, default=FILE)
    chosen = parser.parse_args(arguments)
    tables = load_tables()
    data = json.loads(chosen.file.read_text(encoding="utf-8"))
    plain = {key: value for key, value in data.items() if key not in LINES}
    chosen.file.write_text(json.dumps(plain, indent=1) + "\n", encoding="utf-8")
    kept = [one for path in chosen.evidence for one in load(path)]
    answers = [found for one in kept if (found := answered(one, tables))]
    rows: list[str] = []
    for key, what in (("widths", "width"), ("parts", "part"), ("seat_lines", "seat")):
        chosen_ones = [one for one in answers if key != "seat_lines" or one.basis == "name"]
        lines, more = fit_all(chosen_ones, what)
        rows += more
        data[key] = {
            basis: {"bias": round(line.bias, 4), "slope": round(line.slope, 4)}
            for basis, line in lines.items()
        }
    chosen.file.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    table = "\n".join(rows)
    chosen.file.with_name(CARD.name).write_text(
        f"""# Card: lines of `calibration.json` for width, kind of part and a diameter by name
Fitted by `python -m reader.train.calibrate.lines` on {len(answers)} answers to {len(kept)} drawn
parts, none of them told what it is. Said, and log loss after, are of each half by the lines of the
other half; a line that gains nothing there is not kept. A width by a name counts as right within
{NOMINAL:g} mm.

| of | resting on | answers | share right | believed | said | log loss before | after | |
|---|---|---|---|---|---|---|---|---|
{table}
""",
        encoding="utf-8",
    )
    print(table)


if __name__ == "__main__":
    main()
