"""How well probabilities hold: error, threshold and plot.

Expected calibration error with bins of equal count: Nixon et al., 'Measuring calibration in deep
learning', 2019.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 10


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

    By Laplace's rule of succession, so that few answers do not make a bold threshold. Never below
    `lowest`; 1.0001, so never reached, if nothing does.
    """
    order = np.argsort(-probability, kind="stable")
    share = (np.cumsum(right[order]) + 1) / (np.arange(len(right)) + 3)
    good = np.flatnonzero(share >= wanted)
    return max(float(probability[order[good[-1]]]), lowest) if len(good) else 1.0001


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
