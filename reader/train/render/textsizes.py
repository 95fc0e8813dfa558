"""Random sizes and their names as they are written on tyres: the numbers behind a drawn line."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TypeVar

import numpy as np

from reader.tables import load_tables

Any_ = TypeVar("Any_")
_UNLISTED = 0.02  # share of widths that no table lists at that diameter
_FLATTEN = 0.4  # share of draws in which every bead seat diameter is as likely as any other

# Printed decimal inches by nominal width in mm, as read on tyres; 4.00 and up from memory.
DECIMAL = {
    23: "0.90|1.00", 25: "1.00", 28: "1.10|1.125", 32: "1.25", 35: "1.35", 37: "1.40|1.375",
    40: "1.50", 42: "1.60", 44: "1.65|1.625|1.75", 47: "1.75", 50: "1.90|1.95|2.00|2.0",
    54: "2.10|2.1|2.125", 55: "2.15", 56: "2.20|2.2", 57: "2.25|2.125", 60: "2.35|2.40|2.4",
    62: "2.40|2.45|2.50|2.5", 64: "2.50|2.5", 65: "2.60|2.6", 71: "2.80|2.8", 76: "3.00|3.0",
    100: "4.00|4.0", 120: "4.80|4.8",
}  # fmt: skip
RIM_WIDTHS = (13, 50)  # narrowest and widest drawn
WIDTHS = sorted({*DECIMAL, 18, 19, 20, 22, 24, 26, 27, 30, 33, 34, 38, 39, 45, 48, 52, 58, 61, 63})


@dataclass(frozen=True)
class NamedSize:
    """A bead seat diameter, its usual widths (mm) and the ways to name it."""

    bsd: int
    narrow: int
    wide: int
    share: float
    decimal: tuple[str, ...]  # inch diameters that go with a decimal width
    inch: tuple[str, ...]  # whole names with fractions: '26 x 1 3/8'
    french: str  # '700C', '' if it has none


@cache
def sizes() -> tuple[NamedSize, ...]:
    """All sizes of text_sizes.csv."""
    with (Path(__file__).parent / "text_sizes.csv").open(newline="") as file:
        return tuple(
            NamedSize(
                int(row["bsd"]), int(row["narrow"]), int(row["wide"]), float(row["share"]),
                _several(row["decimal"]), _several(row["inch"]), row["french"],
            )
            for row in csv.DictReader(file)
        )  # fmt: skip


def pick(rng: np.random.Generator, choices: Sequence[Any_]) -> Any_:
    """One of the choices, each as likely."""
    return choices[int(rng.integers(len(choices)))]


def draw_size(rng: np.random.Generator) -> tuple[NamedSize, int]:
    """A size and a nominal width in mm: common ones more often, rare ones often enough.

    Widths are those that the sourced table lists for the diameter, but for one in fifty.
    """
    table = sizes()
    shares = np.array([size.share for size in table])
    if rng.random() < _FLATTEN:
        shares = np.ones(len(table))
    size = table[int(rng.choice(len(table), p=shares / shares.sum()))]
    return size, _width(rng, "tyre", size.bsd, size.narrow, size.wide)


def draw_rim_width(rng: np.random.Generator, size: NamedSize) -> int:
    """An inner rim width in mm for that diameter."""
    return _width(rng, "rim", size.bsd, *RIM_WIDTHS)


def _width(rng: np.random.Generator, part: str, bsd: int, narrow: int, wide: int) -> int:
    widths, shares = _listed(part, bsd, narrow, wide)
    if not len(widths) or rng.random() < _UNLISTED:
        return pick(rng, [w for w in WIDTHS if narrow <= w <= wide])
    return int(rng.choice(widths, p=shares))


@cache
def _listed(part: str, bsd: int, narrow: int, wide: int) -> tuple[np.ndarray, np.ndarray]:
    """Widths that widths.csv lists at a diameter, within limits, and how often each is drawn."""
    tables = load_tables()
    at = tables.rim_widths_at(bsd) if part == "rim" else tables.tyre_widths_at(bsd)
    widths = [int(width) for width in at if narrow <= width <= wide and width == int(width)]
    # square roots: common widths lead, rare ones still come up
    shares = np.array([tables.width_weight[part, width] for width in widths]) ** 0.5
    return np.array(widths), shares / max(shares.sum(), 1e-9)


def name_kinds(size: NamedSize, width: int) -> list[str]:
    """The ways in which a size of that width can be named: 'decimal', 'inch', 'french'."""
    kinds = ["decimal"] if size.decimal and width in DECIMAL else []
    return kinds + ["inch"] * bool(size.inch) + ["french"] * bool(size.french)


def draw_name(rng: np.random.Generator, size: NamedSize, width: int, kind: str) -> str:
    """One name of a size in plain spelling: '24 x 1.75', '26 x 1 3/8', '700 x 28C', '650B'."""
    if kind == "decimal":
        return f"{pick(rng, size.decimal)} x {pick(rng, DECIMAL[width].split('|'))}"
    if kind == "inch":
        return pick(rng, size.inch)
    number, letter = size.french[:-1], size.french[-1]
    return size.french if rng.random() < 0.15 else f"{number} x {width}{letter}"


def _several(cell: str) -> tuple[str, ...]:
    return tuple(part for part in cell.split("|") if part)
