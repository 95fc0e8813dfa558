"""Fits how much of two pictures must agree before they are suggested as one part.

`python -m reader.train.calibrate.doubles --set FOLDER --models 80` draws used parts (their seeds
are not the benchmark's, see `bench.doubles_sets`), reads and compares them, and writes
`reader/data/likeness.json` with a card beside it. It may be stopped; the same command goes on.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize

from reader.photo.likeness import FILE
from reader.records import Floats
from reader.train.bench.doubles_pairs import Compared, compared, make, options, rows
from reader.train.bench.doubles_sets import TUNING_SEED, folders

SHARES = (0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4)  # that the marking's own rows may count
FALSE = 0.01  # suggestions of two different models' parts, for each part


def main(arguments: Sequence[str] | None = None) -> None:
    """Draw, read, fit and write."""
    chosen = options(__doc__, 80).parse_args(arguments)
    some = list(folders(chosen.models, TUNING_SEED))
    make(chosen.set, some, chosen.carry, chosen.workers)
    parts = len({(row.model, row.piece) for row in rows(chosen.set).values()})
    print(write(list(compared(chosen.set)), parts))


def write(pairs: Sequence[Compared], parts: int) -> str:
    """Write likeness.json and its card; gives the card."""
    use = [pair for pair in pairs if pair.truth != "sibling"]
    same = np.array([pair.truth == "same" for pair in use])
    counts = np.array([(pair.likeness.around, pair.likeness.text) for pair in use], np.float32)
    allowed = int(FALSE * parts)

    def found(share: float) -> tuple[float, float]:
        scores = counts @ [1.0, share]
        border = float(np.sort(scores[~same])[::-1][allowed]) + 0.5
        return float((scores[same] >= border).mean()), border

    share = max(SHARES, key=lambda one: found(one)[0])
    recall, border = found(share)
    rise, start = logistic(np.log1p(counts @ [1.0, share]), same)
    at_border = 1 / (1 + np.exp(-(start + rise * np.log1p(border))))
    values = {"text": share, "any": start, "agree": rise, "from": float(at_border)}
    values = {name: round(float(value), 4) for name, value in values.items()}
    FILE.write_text(json.dumps(values) + "\n", encoding="utf-8")
    card = (
        "# How alike two parts must look\n\n"
        "Written by `python -m reader.train.calibrate.doubles` from drawn used parts (seeds from "
        f"{TUNING_SEED:,}): {int(same.sum())} pairs of photos of one part and {int((~same).sum())} "
        f"pairs of one size and different models.\nOn these very pairs {100 * recall:.0f} % of "
        f"the doubles are suggested, at {allowed} false ones in {parts} parts. Pairs of one "
        "model's siblings were not fitted on.\nWhat other seeds give: "
        "`reader/train/bench/doubles.md`.\n"
    )
    FILE.with_suffix(".md").write_text(card, encoding="utf-8")
    return card


def logistic(scores: Floats, same: np.ndarray) -> tuple[float, float]:
    """Slope and start of a logistic curve in which both classes weigh alike."""
    each = np.where(same, 0.5 / max(1, same.sum()), 0.5 / max(1, (~same).sum()))

    def loss(line: np.ndarray) -> float:
        margin = line[0] * scores + line[1]
        return float((each * np.logaddexp(0, np.where(same, -margin, margin))).sum())

    rise, start = minimize(loss, np.array([1.0, -3.0]), method="Nelder-Mead").x
    return float(rise), float(start)


if __name__ == "__main__":
    main()
