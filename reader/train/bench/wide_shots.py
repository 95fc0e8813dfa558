"""Wide photographs of the benchmark: whole wheels, and walls of many parts with one size on them.

Seeds 1,760,000 to 1,799,999, which nothing else uses; held-out letters, textures and grounds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reader.records import Floats, Pixels
from reader.train.bench.sets import Case, size_line
from reader.train.render.kinds import RECIPES, Recipe
from reader.train.render.samples import Studio
from reader.train.render.truth import Truth

FIRST_SEED = 1_760_000
SEEDS_A_KIND = 10_000
SIZE = (3000, 4000)  # height, width: 12 megapixels
WHEELS = {"whole wheel, moulded": "whole", "whole wheel, printed": "whole printed"}
# Rows and columns of close-ups that a wall is put together from; the lines that are seen on it
# are counted when it is read.
WALLS = {"busy wall, about 100 lines": (4, 5), "busy wall, about 220 lines": (6, 8)}
KINDS = (*WHEELS, *WALLS)
WALL_CAPS = (13.0, 28.0)  # capital heights in pixels
OTHERS = ("tyre_other",)  # no motor vehicle's marks: they would be an answer of their own
MOST_TILES = 100  # seeds that one wall may use


@dataclass(frozen=True)
class Wide(Case):
    """One wide photograph; its kind is one of KINDS."""

    @property
    def seed(self) -> int:
        """The seed of its size line and of all else on it."""
        return FIRST_SEED + SEEDS_A_KIND * KINDS.index(self.kind) + MOST_TILES * self.number

    @property
    def recipe(self) -> Recipe:
        """What is photographed; a wall is put together from pictures of it."""
        if self.kind in WHEELS:
            return RECIPES[WHEELS[self.kind]]
        rows, columns = WALLS[self.kind]
        tile = (SIZE[0] // rows, SIZE[1] // columns)
        return replace(RECIPES["moulded"], size=tile, caps=WALL_CAPS, hard=0.3, others=OTHERS)


@dataclass(frozen=True, eq=False)
class Shown:
    """What is read: RGB pixels, the text, the sizes it can mean, and where it lies."""

    pixels: Pixels
    text: str
    truth: Truth
    clarity: float
    cap: float  # capital height in pixels
    outline: Floats  # 4 x 2, of the size line (of the first, on a wheel that shows it twice)


def show(case: Wide, studio: Studio) -> Shown:
    """Take the photograph."""
    text, truth = size_line(case)
    shot = studio.shoot(case.recipe, case.seed, text, case.seed)
    if case.kind in WHEELS:
        return Shown(shot.pixels, text, truth, shot.clarity, shot.cap, shot.polygon)
    rows, columns = WALLS[case.kind]
    high, wide = case.recipe.size
    here = int(np.random.default_rng((case.seed, 79)).integers(rows * columns))
    wall = np.empty((rows * high, columns * wide, 3), np.uint8)
    blank = replace(case.recipe, part="none")
    for k in range(rows * columns):
        top, left = k // columns * high, k % columns * wide
        tile = shot if k == here else studio.shoot(blank, case.seed + 1 + k)
        wall[top : top + high, left : left + wide] = tile.pixels
    corner = np.array([here % columns * wide, here // columns * high], np.float32)
    return Shown(wall, text, truth, shot.clarity, shot.cap, shot.polygon + corner)
