"""How long a photograph of 12 megapixels takes: `python -m reader.train.bench.speed --photos 8`.

Photographs are drawn first and stored as JPEG files; a process of its own, held to two cores, then
loads and reads them one after the other, as `tyremark read` does. Close-ups are of 12 megapixels
too, as phones take them, and once more cut down to the marking. Seeds from 1,490,000.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import statistics
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from reader.train.bench.markdown import markdown
from reader.train.render.kinds import RECIPES, Recipe

if TYPE_CHECKING:
    from reader.train.render.samples import Studio

FIRST_SEED = 1_490_000
CORES = 2
SIZE = (3000, 4000)
NEAR = (60.0, 170.0)  # capital heights of a phone's close-up at that size
SHOWN = {
    "worn sidewall, close": replace(RECIPES["worn"], size=SIZE, caps=NEAR),
    "moulded sidewall, close": replace(RECIPES["moulded"], size=SIZE, caps=NEAR),
    "rim label, close": replace(RECIPES["decal"], size=SIZE, caps=NEAR),
    "whole wheel, printed": RECIPES["whole printed"],
    "whole wheel, moulded": RECIPES["whole"],
}
CUT = "cut down to the marking"
HEAD = ("photographs", "number", "told", "median s", "slowest s", "wanted")
INTRODUCTION = f"""# How long a photograph takes

Written by `python -m reader.train.bench.speed`: seconds from the JPEG file to the answer, on
{CORES} cores ({platform.machine()}), models open. Rendered photographs of 4000 x 3000 pixels, but
for those cut down to the marking and a little around it.
"""
AIR = 2.0  # capital heights around a marking that is cut out


@dataclass(frozen=True)
class Took:
    """One photograph: what it shows, seconds from file to answer, peak memory so far in MB."""

    kind: str
    seconds: float
    memory: float
    verdict: str


def draw(folder: Path, carry: Path, photos: int) -> Iterator[tuple[str, Path]]:
    """Draw the photographs; yields kind and file."""
    from reader.train.render.samples import Studio

    studio = Studio.open(carry)
    for number in range(photos):
        for place, (kind, recipe) in enumerate(SHOWN.items()):
            yield from _shoot(studio, kind, recipe, FIRST_SEED + 1000 * place + number, folder)


def _shoot(
    studio: Studio, kind: str, recipe: Recipe, seed: int, folder: Path
) -> Iterator[tuple[str, Path]]:
    from reader.photo.overlay import save

    shot = studio.shoot(recipe, seed)
    whole, part = folder / f"{seed}.jpg", folder / f"{seed}-part.jpg"
    save(shot.pixels, whole)
    yield kind, whole
    if not recipe.whole:
        low, high = shot.polygon.min(0) - AIR * shot.cap, shot.polygon.max(0) + AIR * shot.cap
        (left, top), (right, bottom) = low.clip(0).astype(int), high.astype(int)
        save(shot.pixels[top:bottom, left:right], part)
        yield CUT, part


def measure(drawn: Sequence[tuple[str, Path]]) -> list[Took]:
    """Load and read every file, in this process; the first one is read once more to warm up."""
    from reader.photo.load import load
    from reader.pipeline import read

    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:CORES])
    read([load(drawn[0][1])])
    out = []
    for kind, path in drawn:
        began = time.perf_counter()
        reading = read([load(path)])
        seconds = time.perf_counter() - began
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        out.append(Took(kind, seconds, memory, str(reading.verdict)))
    return out


def report(took: Sequence[Took]) -> str:
    """The table as Markdown."""
    rows = [list(HEAD)]
    kinds = dict.fromkeys(one.kind for one in took)
    groups = {kind: [one for one in took if one.kind == kind] for kind in kinds if kind != CUT}
    groups["all of 12 megapixels"] = [one for one in took if one.kind != CUT]
    groups[CUT] = [one for one in took if one.kind == CUT]
    wanted = {"all of 12 megapixels": "median 2.5, each 4", CUT: "0.6"}
    for kind, some in groups.items():
        times = [one.seconds for one in some]
        told = sum(one.verdict in ("sure", "likely") for one in some)
        rows.append([
            kind, str(len(some)), str(told), f"{statistics.median(times):.2f}",
            f"{max(times):.2f}", wanted.get(kind, ""),
        ])  # fmt: skip
    peak = max(one.memory for one in took)
    most = f"Peak memory of the process: {peak:.0f} MB (wanted: 1,000)."
    return f"{INTRODUCTION}\n{markdown(rows)}\n\n{most}"


def main() -> None:
    """Draw, measure, write."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.speed", description=__doc__)
    parser.add_argument("--photos", type=int, default=8, help="of each kind")
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    parser.add_argument("--keep", type=Path, help="folder for the photographs")
    parser.add_argument("--out", type=Path, default=Path("reader/train/bench/speed.md"))
    args = parser.parse_args()
    with TemporaryDirectory() as temporary:
        folder = args.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        drawn = list(draw(folder, args.carry, args.photos))
        with ProcessPoolExecutor(1, get_context("spawn")) as alone:
            took = alone.submit(measure, drawn).result()
    args.out.write_text(report(took) + "\n", encoding="utf-8")
    print(report(took))


if __name__ == "__main__":
    main()
