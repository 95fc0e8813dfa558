"""How much a further look is worth: fits reader/data/sweep.json on kept looks.

    python -m reader.train.bench.sweep --group fit --alone --keep --out out/sweep
    python -m reader.train.calibrate.sweep --kept out/sweep

Each kept clip is put together and told anew with all the numbers below. Kept are those that tell
fewest sizes wrongly while sure; of these the ones that give the true size the largest mean
natural-log share among all that its letters could be, by cost; and of those within one such unit of
the best, all clips together, the ones that trust further looks least.
"""

from __future__ import annotations

import argparse
import json
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np

from reader.markings import PAIRS
from reader.records import Marking, Verdict
from reader.sweep import fuse
from reader.sweep.fuse import Fitted
from reader.train.bench import sweep_kept
from reader.train.bench.markdown import markdown

INDEPENDENT = (0.4, 0.6, 0.8)
MOST = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)
LOOKS = (0.3, 1.0)
CAP = 8.0
ABSENT = 12.0  # cost of a size that was not among the readings told
SLACK = 1.0  # natural-log units of all clips together: less is no difference
CARD = fuse.FILE.with_suffix(".md")


def share(markings: Sequence[Marking], truth: str) -> float:
    """Natural-log share that the true size gets among all that the letters could be, by cost."""
    bsd, width = _truth(truth)
    costs: dict[tuple[int, float], float] = {}
    for marking in markings:
        if marking.notation in PAIRS:
            size = int(marking.numbers["bsd_mm"]), float(marking.numbers["width_mm"])
            costs[size] = min(costs.get(size, math.inf), marking.cost)
    true = costs.pop((bsd, width), ABSENT)
    whole = np.logaddexp.reduce([-true, -ABSENT, *(-cost for cost in costs.values())])
    return float(-true - whole)


def _truth(text: str) -> tuple[int, float]:
    width, bsd = text.split("|")[0].split("-")
    return int(bsd), float(width)


@dataclass(frozen=True)
class Tried:
    """How numbers did: mean share of the true size, and clips told in each way."""

    numbers: Fitted
    mean: float
    right: int
    right_sure: int
    wrong: int
    wrong_sure: int


def attempt(clips: Sequence[dict[str, Any]], numbers: Fitted) -> Tried:
    """Tell all clips anew with these numbers."""
    shares = []
    told: Counter[str] = Counter()
    for clip in clips:
        reading = sweep_kept.told_again(clip, numbers)
        if clip["truth"]:
            shares.append(share(reading.markings, clip["truth"]))
        if reading.best is None or reading.verdict not in (Verdict.SURE, Verdict.LIKELY):
            continue
        end = "right" if str(reading.best.size) in clip["truth"].split("|") else "wrong"
        told.update([end] + [f"{end}, sure"] * (reading.verdict is Verdict.SURE))
    return Tried(
        numbers, float(np.mean(shares)), told["right"], told["right, sure"], told["wrong"],
        told["wrong, sure"],
    )  # fmt: skip


def fit(clips: Sequence[dict[str, Any]]) -> tuple[Fitted, list[Tried]]:
    """The numbers chosen, and all that were tried."""
    tried = [
        attempt(clips, Fitted(independent, most, looks, CAP))
        for independent, most, looks in product(INDEPENDENT, MOST, LOOKS)
    ]
    fewest = min(one.wrong_sure for one in tried)
    safe = [one for one in tried if one.wrong_sure == fewest]
    best = max(one.mean for one in safe)
    able = [one for one in safe if (best - one.mean) * len(clips) <= SLACK]
    chosen = min(able, key=lambda one: (one.numbers.most, one.numbers.independent, -one.mean))
    return chosen.numbers, tried


def table(tried: Sequence[Tried]) -> str:
    """All that was tried, in Markdown."""
    head = ["independent", "most", "looks", "mean log share", "right", "of them sure", "wrong",
            "of them sure"]  # fmt: skip
    rows = [
        [f"{one.numbers.independent:g}", f"{one.numbers.most:g}", f"{one.numbers.looks:g}",
         f"{one.mean:.3f}", *map(str, (one.right, one.right_sure, one.wrong, one.wrong_sure))]
        for one in tried
    ]  # fmt: skip
    return markdown([head, *rows])


def card(numbers: Fitted, chosen: Fitted, tried: Sequence[Tried], clips: int) -> str:
    """The numbers in use, what the fit by itself would choose, and all that was tried."""
    text = (
        "# How much a further look is worth\n\nWritten by `python -m reader.train.calibrate.sweep`"
        f" from {clips} drawn clips of seeds that nothing is reported on. In use: "
        f"{_words(numbers)}."
    )
    if numbers != chosen:
        text += (
            f" The fit by itself would choose: {_words(chosen)}. It counts sizes told wrongly "
            "while sure on kept looks, some of which end sooner than sweeps do now (see "
            "`sweep.trust`); the numbers in use are those with which bench/sweep.md was read."
        )
    return f"{text}\n\n{table(tried)}\n"


def _words(numbers: Fitted) -> str:
    return (
        f"n looks at the same letters count as n to the power of {numbers.independent:g}, but as "
        f"{numbers.most:g} at most; the looks' own grammar scores count {numbers.looks:g} of the "
        "voted one's"
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, and write the numbers with their card."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.calibrate.sweep")
    parser.add_argument("--kept", type=Path, required=True, help="folder of kept clips")
    parser.add_argument("--only-card", action="store_true", help="leave the numbers as they are")
    args = parser.parse_args(arguments)
    clips = list(sweep_kept.load(args.kept))
    chosen, tried = fit(clips)
    numbers = fuse.fitted() if args.only_card else chosen
    data = asdict(numbers) | {"clips": len(clips)}
    fuse.FILE.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    text = card(numbers, chosen, tried, len(clips))
    CARD.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
