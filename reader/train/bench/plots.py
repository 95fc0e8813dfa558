"""Plots of the benchmark: accuracy against clarity, letter height and contrast, for each engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from reader.train.bench.lines import LineRow
from reader.train.bench.rows import ENGINES, OURS, Row
from reader.train.bench.sets import EMPTY

COLOURS = {
    "this tool": "#0b6e4f", "tesseract plainly": "#c98a00", "scene engine plainly": "#5b4bb5",
    "tesseract located": "#e0b95a", "scene engine located": "#a79be0",
}  # fmt: skip
BINS = 7  # of equal count
FEWEST = 12  # photographs a bin


def draw_photos(rows: Sequence[Row], folder: Path, legible: float) -> None:
    """Write clarity.png and height.png: share right and told, by engine."""
    sized = [row for row in rows if row.kind not in EMPTY and row.kind != "names alone"]
    _draw(
        sized, lambda row: row.clarity, folder / "clarity.png",
        "clarity of the size line", bound=legible,
    )  # fmt: skip
    _draw(
        sized, lambda row: row.cap, folder / "height.png",
        "height of a capital, pixels", log=True,
    )  # fmt: skip


def _draw(
    rows: Sequence[Row],
    measure: Callable[[Row], float],
    path: Path,
    label: str,
    log: bool = False,
    bound: float | None = None,
) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7, 4.2), layout="constrained")
    axes = figure.subplots()
    for engine in ENGINES:
        asked = [row for row in rows if engine in row.answers]
        if not asked:
            continue
        x = np.array([measure(row) for row in asked])
        right = np.array([row.outcome(engine) == "right" for row in asked], float)
        spots, shares, spread = binned(x, right)
        axes.errorbar(
            spots, shares, yerr=spread, fmt="o-", capsize=2, color=COLOURS[engine],
            linewidth=2.4 if engine == OURS else 1.4, label=f"{engine} ({len(asked)})",
        )  # fmt: skip
    if bound is not None:
        axes.axvline(bound, color="0.6", linestyle=":", label="bound of legibility")
    if log:
        from matplotlib.ticker import NullFormatter, ScalarFormatter

        axes.set_xscale("log")
        axes.set_xticks([8, 12, 20, 30, 50, 80])
        axes.xaxis.set_major_formatter(ScalarFormatter())
        axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set(xlabel=label, ylabel="right, sure or likely", ylim=(0, 1.02))
    axes.legend(fontsize=8, loc="upper left", framealpha=0.8)
    figure.savefig(path, dpi=120)


def binned(x: NDArray, right: NDArray) -> tuple[list[float], list[float], list[float]]:
    """Bins of equal count: mean place, share right, one standard error."""
    bins = max(1, min(BINS, len(x) // FEWEST))
    out: tuple[list[float], list[float], list[float]] = ([], [], [])
    for some in np.array_split(np.argsort(x, kind="stable"), bins):
        share = float(right[some].mean())
        values = float(x[some].mean()), share, float(np.sqrt(share * (1 - share) / len(some)))
        for column, value in zip(out, values, strict=True):
            column.append(value)
    return out


def draw_lines(lines: Sequence[LineRow], edges: Sequence[float], path: Path) -> None:
    """Write the plot of exact readings of single lines against contrast."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7, 4.2), layout="constrained")
    axes = figure.subplots()
    names = [f"{low:g}–{high:g}" for low, high in zip(edges[:-2], edges[1:-1], strict=True)]
    names.append(f"{edges[-2]:g} +")
    engines = (("ours", "this tool"), ("scene", "scene engine"), ("tesseract", "tesseract"))
    for engine, label in engines:
        shares = []
        for low, high in zip(edges[:-1], edges[1:], strict=True):
            some = [row for row in lines if low <= row.contrast < high]
            exact = [row.exact(getattr(row, engine)) for row in some]
            shares.append(float(np.mean(exact)) if exact else np.nan)
        colour = COLOURS.get(label, COLOURS.get(f"{label} plainly", "0.4"))
        axes.plot(range(len(names)), shares, "o-", color=colour, label=label)
    axes.set_xticks(range(len(names)), names)
    axes.set(xlabel="contrast of the lettering, grey levels", ylabel="lines read exactly")
    axes.set_ylim(0, 1.02)
    axes.legend(loc="upper left")
    figure.savefig(path, dpi=120)
