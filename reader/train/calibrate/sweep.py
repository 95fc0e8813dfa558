"""How much a further look is worth: fits reader/data/sweep.json on kept looks.

    python -m reader.train.bench.sweep --group fit --alone --keep --out out/sweep
    python -m reader.train.calibrate.sweep --kept out/sweep

Each kept clip is put together anew with every pair of numbers; what counts is the mean natural-log
share that the true size gets among all that its letters could be, by cost. Of the numbers within
one natural-log unit of the best, all clips together, those that trust further looks least are kept.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np

from reader.markings import PAIRS
from reader.records import Marking, Photo
from reader.sweep import fuse
from reader.sweep.fuse import Fitted
from reader.train.bench import sweep_kept
from reader.train.bench.markdown import markdown

INDEPENDENT = (0.0, 0.25, 0.4, 0.5, 0.6, 0.75, 1.0)
LOOKS = (0.0, 0.15, 0.3, 0.6, 1.0)
CAP = 8.0
ABSENT = 12.0  # cost of a size that was not among the readings told
SLACK = 1.0  # natural-log units of all clips together: less is no difference
CARD = fuse.FILE.with_suffix(".md")


def share(clip: dict[str, Any], numbers: Fitted) -> tuple[float, float]:
    """Natural-log share of the true size, and of the best wrong one."""
    empty = Photo("clip", np.zeros((1, 1, 3), np.uint8))
    for track in clip["tracks"]:
        track.kept = None
    found: list[Marking] = []
    for one in fuse.fuse(clip["tracks"], empty, np.zeros(2, np.float32), numbers):
        found += [m for m in one.markings if m.notation in PAIRS]
    bsd, width = _truth(clip["truth"])
    costs: dict[tuple[int, float], float] = {}
    for marking in found:
        size = int(marking.numbers["bsd_mm"]), float(marking.numbers["width_mm"])
        costs[size] = min(costs.get(size, math.inf), marking.cost)
    true = costs.pop((bsd, width), ABSENT)
    wrong = min(costs.values(), default=ABSENT)
    whole = np.logaddexp.reduce([-true, -ABSENT, *(-cost for cost in costs.values())])
    return float(-true - whole), float(-wrong - whole)


def _truth(text: str) -> tuple[int, float]:
    width, bsd = text.split("|")[0].split("-")
    return int(bsd), float(width)


def fit(clips: Sequence[dict[str, Any]]) -> tuple[Fitted, list[list[str]]]:
    """The numbers that trust further looks least among the best, and a table of all tried."""
    table = [["independent", "looks", "mean log share", "worst clip", "wrong before right"]]
    tried: list[tuple[float, Fitted]] = []
    for independent, looks in product(INDEPENDENT, LOOKS):
        numbers = Fitted(independent, looks, CAP)
        shares = [share(clip, numbers) for clip in clips]
        mean = float(np.mean([true for true, _ in shares]))
        wrong = sum(other > true for true, other in shares)
        tried.append((mean, numbers))
        worst = min(true for true, _ in shares)
        table.append([f"{independent:g}", f"{looks:g}", f"{mean:.3f}", f"{worst:.1f}", str(wrong)])
    best = max(mean for mean, _ in tried)
    able = [one for one in tried if (best - one[0]) * len(clips) <= SLACK]
    return min(able, key=lambda one: (one[1].independent, -one[0]))[1], table


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, and write the numbers with their card."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.calibrate.sweep")
    parser.add_argument("--kept", type=Path, required=True, help="folder of kept clips")
    args = parser.parse_args(arguments)
    clips = [one for one in sweep_kept.load(args.kept) if one["truth"]]
    numbers, table = fit(clips)
    data = asdict(numbers) | {"clips": len(clips)}
    fuse.FILE.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    text = (
        "# How much a further look is worth\n\nWritten by `python -m reader.train.calibrate.sweep`"
        f" from {len(clips)} drawn clips of seeds that nothing is reported on. n looks at the same "
        f"letters count as n to the power of {numbers.independent:g}; the looks' own grammar "
        f"scores count {numbers.looks:g} of the voted one's.\n\n{markdown(table)}\n"
    )
    CARD.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
