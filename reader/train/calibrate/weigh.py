"""Fits the resolver's weights to kept evidence whose truth is known.

    python -m reader.train.calibrate.weigh carry/evidence.bin [--passes 2]

takes the parts that `reader.train.calibrate.collect` photographed and read, two thirds of them to
fit on, one third to check. Each weight is moved up and down in turn while that lowers the loss: the
natural-log loss of the true diameter (of 'nothing' where no size stands there) and of the true
width at it, with a pull back to the judgement that few parts overcome. It writes
reader/data/resolver.json and, beside it, the card that says what the fit gained on the third that
was kept apart.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from reader.records import Marking, PartKind, Size
from reader.resolve.calibration import load_calibration
from reader.resolve.resolve import believed, resolve
from reader.resolve.weights import FILE, FORMAT, JUDGED, Weights, load_weights
from reader.tables import Tables, load_tables
from reader.train.bench import clutter
from reader.train.calibrate.collect import Kept, load, true_size

CARD = FILE.with_suffix(".md")
FLOOR = 1e-3  # a true answer is held at least this probable: one misread must not rule the fit
WIDTH = 0.5  # what the width's loss counts beside the diameter's
# `lone` is left at its judgement: it moves the costs that the shipped calibration rests on.
# Some limits are there because drawn parts differ from real ones. They take widths from the
# reader's own table: so `width_scale` has a floor, `width_power` and `reserve` a ceiling, or clear
# pairs with odd widths would not be told. Engines err together where letters are bad: so
# `second_engine` has a ceiling. What nobody read is no reading: so `completed` has a floor.
# How far each weight may plausibly lie from its judgement (one standard deviation), and its limits.
MOVES: dict[str, tuple[float, float, float]] = {
    "any_size": (1.0, -6.0, 2.0),
    "reserve": (1.5, -12.0, -2.0),
    "moulded": (1.5, 4.0, 14.0),
    "scene": (1.5, 4.0, 14.0),
    "tesseract": (1.5, 2.0, 12.0),
    "inch": (1.0, -4.0, 2.0),
    "french": (1.0, -4.0, 2.0),
    "rim": (1.0, -4.0, 2.0),
    "tube": (1.0, -6.0, 2.0),
    "short": (1.0, 0.0, 4.0),
    "steep": (1.0, 0.5, 8.0),
    "knee": (0.5, 0.5, 4.0),
    "flat": (0.5, 0.2, 4.0),
    "score": (1.0, 0.0, 4.0),
    "completed": (0.5, 1.0, 4.0),
    "second_engine": (0.2, 0.0, 0.55),
    "again_same_photo": (0.15, 0.0, 1.0),
    "other_width": (1.5, -14.0, -3.0),
    "backed": (1.5, 3.0, 10.0),
    "name_apart": (1.5, 0.5, 10.0),
    "name_width": (1.0, -8.0, -1.0),
    "width_scale": (1.5, 3.0, 8.0),
    "decoy": (1.0, 0.0, 8.0),
    "bare_name": (1.0, 0.0, 8.0),
    "beside_pressure": (1.0, 0.0, 8.0),
    "prior_power": (0.2, 0.0, 1.0),
    "width_power": (0.2, 0.0, 0.4),
}


@dataclass(frozen=True)
class Case:
    """One part: the markings that were read, and the size that stands there, None for no size."""

    markings: tuple[Marking, ...]
    part: PartKind
    truth: Size | None


def cases(kept: Sequence[Kept], tables: Tables) -> list[Case]:
    """All parts with their truth."""
    made = []
    for one in kept:
        facts = one.facts[0]
        told = one.job.told and facts.part in ("tyre", "rim")
        part: PartKind = "unknown" if not told else "rim" if facts.part == "rim" else "tyre"
        made.append(Case(one.markings, part, true_size(facts, tables, one.job.seeds[0])))
    return made


def loss(case: Case, tables: Tables, weights: Weights) -> float:
    """Natural-log loss of one part."""
    belief = believed(case.markings, case.part, tables, "world", weights)
    nothing = 1.0 if belief is None else belief.nothing
    if case.truth is None:
        return -math.log(max(nothing, FLOOR))
    if belief is None:
        return -math.log(FLOOR)
    seat = dict(belief.by_seat()).get(case.truth.bsd, 0.0)
    lost = -math.log(max(seat, FLOOR))
    if case.truth.width is not None and seat > FLOOR:
        near = sum(
            share
            for size, share in belief.by_size()
            if size.bsd == case.truth.bsd
            and size.width is not None
            and abs(size.width - case.truth.width) < 0.5
        )
        lost -= WIDTH * math.log(max(near / seat, FLOOR))
    return lost


def mean_loss(some: Sequence[Case], tables: Tables, weights: Weights) -> float:
    """Mean loss over parts."""
    return float(np.mean([loss(case, tables, weights) for case in some]))


class Losses:
    """Mean loss over parts, worked out by `jobs` processes side by side."""

    def __init__(self, some: Sequence[Case], tables: Tables, jobs: int = 1) -> None:
        self.some, self.tables = some, tables
        SHARES[:] = [share for k in range(jobs) if (share := some[k::jobs])]
        # forked, so that the parts need not be sent with every trial
        self.pool = ProcessPoolExecutor(jobs, get_context("fork")) if jobs > 1 else None

    def __call__(self, weights: Weights) -> float:
        """The mean under these weights."""
        if self.pool is None:
            return mean_loss(self.some, self.tables, weights)
        sums = self.pool.map(_sum, range(len(SHARES)), [weights] * len(SHARES))
        return sum(sums) / len(self.some)


SHARES: list[Sequence[Case]] = []  # of the parts, one a process


def _sum(share: int, weights: Weights) -> float:
    return mean_loss(SHARES[share], load_tables(), weights) * len(SHARES[share])


def pull(weights: Weights, count: int) -> float:
    """How much less plausible the weights are than the judgement, as loss a part."""
    apart = [
        (getattr(weights, name) - getattr(JUDGED, name)) / spread
        for name, (spread, _, _) in MOVES.items()
    ]
    return float(np.sum(np.square(apart)) / 2 / max(count, 1))


def fit(
    some: Sequence[Case],
    tables: Tables,
    passes: int,
    until: float,
    start: Weights = JUDGED,
    jobs: int = 1,
) -> Weights:
    """The best weights that passes over all of them find in time, from a start on."""
    losses = Losses(some, tables, jobs)
    best = start
    lowest = losses(best) + pull(best, len(some))
    steps = {name: spread for name, (spread, _, _) in MOVES.items()}
    for _ in range(passes):
        for name, (_, low, high) in MOVES.items():
            for sign in (1, -1):
                value = min(max(getattr(best, name) + sign * steps[name], low), high)
                tried = replace(best, **{name: value})
                if value == getattr(best, name) or time.monotonic() > until:
                    continue
                found = losses(tried) + pull(tried, len(some))
                if found < lowest - 1e-5:
                    best, lowest = tried, found
                    print(f"{name} {value:.3g}: loss {lowest:.4f}", flush=True)
                    break
            else:
                steps[name] /= 2
    return best


@dataclass(frozen=True)
class Score:
    """How weights do on parts: loss, diameters told right and wrong, sizes told right and wrong."""

    count: int
    loss: float
    right: int
    wrong: int
    error: float  # mean distance of told probability and truth: calibration by two halves


def score(some: Sequence[Case], tables: Tables, weights: Weights) -> Score:
    """How weights do on parts that they were not fitted to."""
    right = wrong = 0
    said, was = [], []
    calibration = load_calibration()
    for case in some:
        reading = resolve(case.markings, case.part, tables, "world", calibration, weights)
        judged = reading.diameter
        true = case.truth is not None and judged.value == case.truth.bsd
        if judged.value is not None:
            said.append(judged.probability)
            was.append(float(true))
        right += judged.told and true
        wrong += judged.told and not true
    return Score(len(some), mean_loss(some, tables, weights), right, wrong, two_halves(said, was))


def two_halves(said: Sequence[float], was: Sequence[float]) -> float:
    """Calibration error with two bins of equal count; few parts allow no more."""
    order = np.array_split(np.argsort(said, kind="stable"), 2)
    gaps = [
        abs(np.mean(np.take(said, some)) - np.mean(np.take(was, some))) * len(some)
        for some in order
        if len(some)
    ]
    return float(np.sum(gaps) / max(len(said), 1))


def card(before: Score, after: Score, fitted: int, weights: Weights, note: str) -> str:
    """What was fitted on what, and what it gained."""
    moved = "\n".join(
        f"| {name} | {getattr(JUDGED, name):g} | {getattr(weights, name):.3g} |"
        for name in MOVES
        if getattr(JUDGED, name) != getattr(weights, name)
    )
    rows = "\n".join(
        f"| {name} | {one.loss:.3f} | {one.right} | {one.wrong} | {one.error:.3f} |"
        for name, one in (("judged", before), ("fitted", after))
    )
    return f"""# Card: `resolver.json`, how much each piece of evidence weighs
- **What:** the numbers of `reader/resolve/weights.py`, fitted by
  `python -m reader.train.calibrate.weigh`; those not listed below stayed at their judgement.
- **Fitted on:** {fitted} drawn parts ({note}), a pull back to the judgement among the loss.
- **Checked on:** {after.count} other parts of the same kinds, none of which was fitted on.

| weights | log loss | diameters told right | told wrong | calibration error |
|---|---|---|---|---|
{rows}

| weight | judged | fitted |
|---|---|---|
{moved}

- **Limits:** drawn parts only, which differ from real ones: why some weights are held back stands
  beside their limits in `reader/train/calibrate/weigh.py`.
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, check, write."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.calibrate.weigh", description=__doc__
    )
    parser.add_argument("evidence", nargs="+", type=Path)
    parser.add_argument("--clutter", type=Path, help="pictures without a size, see bench.clutter")
    parser.add_argument("--passes", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=1e9, help="time after which to stop")
    parser.add_argument("--jobs", type=int, default=1, help="processes that weigh")
    parser.add_argument("--start", type=Path, default=FILE, help="weights to begin with")
    parser.add_argument("--note", default="", help="what the parts are")
    parser.add_argument("--out", type=Path, default=FILE)
    chosen = parser.parse_args(arguments)
    tables = load_tables()
    everything = cases([one for path in chosen.evidence for one in load(path)], tables)
    if chosen.clutter is not None:
        shown = clutter.to_fit(load(chosen.clutter))
        everything += [Case(markings, "unknown", None) for _, _, markings in shown]
    order = np.random.default_rng(3).permutation(len(everything))
    apart = [everything[i] for i in order[::3]]
    fitting = [everything[i] for k, i in enumerate(order) if k % 3]
    until = time.monotonic() + chosen.seconds
    weights = fit(fitting, tables, chosen.passes, until, load_weights(chosen.start), chosen.jobs)
    before, after = (score(apart, tables, one) for one in (JUDGED, weights))
    values = {name: round(getattr(weights, name), 4) for name in MOVES}
    data = {"format": FORMAT, "fitted_on": chosen.note, "weights": values}
    chosen.out.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    text = card(before, after, len(fitting), weights, chosen.note)
    chosen.out.with_suffix(".md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
