"""The table of the wide photographs: what was told, and where reading ended."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from typing import TYPE_CHECKING

from reader.train.bench.markdown import markdown
from reader.train.bench.wide_shots import KINDS, WHEELS

if TYPE_CHECKING:
    from reader.train.bench.wide import Trial

LEGIBLE = 0.15  # clarity from which a size line can be read
CAPS = (0, 14, 17, 20, 25, 60)  # capital heights in pixels, bounds of the groups
STAGES = ("not found", "not read", "not settled")
HEAD = (
    "photographs", "number", "diameter right", "size right", "legible", "of them diameter right",
    "told wrong", "of them sure", "lines", "median s", "slowest s", "out of patience",
)  # fmt: skip
INTRODUCTION = """# Whole wheels and busy walls
Written by `python -m reader.train.bench.wide`: drawn photographs of 12 megapixels, read as
`tyremark read` reads them, nobody telling the part, by our own recogniser alone. Legible: of a
clarity of 0.15 or more. Seconds are the processor's, from the pixels to the answer, on one core of
a machine whose cores were all busy. The moulding is 11 to 24 pixels high on the wheels, 13 to 28 on
the walls; a wall is put together of close-ups of many sidewalls, one with a size. Lines: how many
were looked at, both ways round, as median.
"""


def report(trials: Sequence[Trial]) -> str:
    """The report as Markdown."""
    rows = [list(HEAD)]
    for kind in KINDS:
        some = [one for one in trials if one.kind == kind]
        if some:
            rows.append([kind, *_cells(some)])
    wheels = [one for one in trials if one.kind in WHEELS]
    return (
        f"{INTRODUCTION}\n{markdown(rows)}\n\n## Whole wheels by height of their capitals\n\n"
        f"{markdown(_heights(wheels))}\n\n## Where reading ended when nothing was told\n\n"
        f"{markdown(_stages(trials))}\n"
    )


def is_right(trial: Trial) -> bool:
    """Whether the diameter that was told is one that the text can mean."""
    return str(trial.bsd) in {one.split("-")[1] for one in trial.truth.split("|")}


def _cells(some: Sequence[Trial]) -> list[str]:
    clear = [one for one in some if one.clarity >= LEGIBLE]
    wrong = [one for one in some if one.bsd and not is_right(one)]
    times = [one.seconds for one in some]
    counts = (
        len(some), sum(map(is_right, some)), sum(one.right for one in some), len(clear),
        sum(map(is_right, clear)), len(wrong), sum(one.verdict == "sure" for one in wrong),
        round(statistics.median(one.lines for one in some)),
    )  # fmt: skip
    spent = sum(one.spent for one in some)
    clock = [f"{statistics.median(times):.2f}", f"{max(times):.2f}", str(spent)]
    return [*map(str, counts), *clock]


def _heights(wheels: Sequence[Trial]) -> list[list[str]]:
    rows = [["pixels", *(f"{kind}: diameter right" for kind in WHEELS)]]
    for low, high in zip(CAPS[:-1], CAPS[1:], strict=True):
        cells = []
        for kind in WHEELS:
            some = [one for one in wheels if one.kind == kind and low <= one.cap < high]
            cells.append(f"{sum(map(is_right, some))} of {len(some)}")
        rows.append([f"{low} to {high}", *cells])
    return rows


def _stages(trials: Sequence[Trial]) -> list[list[str]]:
    rows = [["photographs", *STAGES]]
    for kind in KINDS:
        some = [one for one in trials if one.kind == kind]
        if some:
            rows.append([kind, *(str(sum(t.stage == stage for t in some)) for stage in STAGES)])
    return rows
