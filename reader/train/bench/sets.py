"""The frozen sets of the benchmark: which photographs are taken, and what they show.

Everything follows from the seeds 1,600,000 to 1,759,999, which nothing else uses (two sets before,
from 1,000,000 and 1,200,000 on, were looked at while reading was mended, and retired); fonts,
textures, backgrounds and invented names are the held-out ones. But for the kind 'names alone',
every size line holds an ISO pair or a rim's marking, so that it settles the size by itself; the
truth is taken from the drawn text by a plain pattern, not by the reader's own grammar.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reader.markings import parse_text
from reader.names.meanings import meanings
from reader.records import Floats, Pixels, Size
from reader.tables import load_tables
from reader.train.render.kinds import RECIPES, Recipe
from reader.train.render.samples import Studio
from reader.train.render.texts import draw_line
from reader.train.render.truth import Truth, settles

FIRST_SEED = 1_600_000
SEEDS_A_KIND = 10_000
SEVERAL = 3  # photos of one part
OTHER_GROUNDS = (1, 0, 2, 4)  # print, moulding, sticker, stamp: what other texts stand on
OTHER_TEXTS = ("decoy", "decoy", "tyre_other", "random")

# Kinds of photographs by the recipe that they are taken by, in the order of the report.
KINDS = {
    "decal": "decal", "stamped": "stamped", "engraved": "engraved", "printed": "printed",
    "moulded": "moulded", "worn": "worn", "worn, 3 photos": "worn", "dirty": "dirty",
    "tiny": "tiny", "magnifier": "magnifier", "glare": "glare", "names alone": "moulded",
    "nothing": "nothing", "other texts": "other texts", "whole printed": "whole printed",
    "whole": "whole",
}  # fmt: skip
EMPTY = ("nothing", "other texts")  # kinds on which no size may be named


@dataclass(frozen=True)
class Case:
    """One question to the engines: one part, with one photo or several."""

    kind: str  # key of KINDS
    number: int

    @property
    def seed(self) -> int:
        """The seed of its size line and of its first photo."""
        return FIRST_SEED + SEEDS_A_KIND * list(KINDS).index(self.kind) + SEVERAL * self.number

    @property
    def recipe(self) -> Recipe:
        """What is photographed."""
        recipe = RECIPES[KINDS[self.kind]]
        if self.kind == "other texts":  # framed as a size line would be
            ground = OTHER_GROUNDS[self.number % len(OTHER_GROUNDS)]
            return replace(recipe, kind=ground, part="tyre")
        return recipe


@dataclass(frozen=True, eq=False)
class Shown:
    """What the engines get, and what they should say; empty truth where no size is shown."""

    pictures: tuple[Pixels, ...]
    text: str
    truth: Truth
    part: str  # 'tyre', 'rim', 'none'
    clarity: float  # of the clearest photo, see clarity.clarity
    cap: float  # capital height of the size line in that photo, pixels
    font: str = ""  # file name of the size line's letters
    outlines: tuple[Floats, ...] = ()  # of the size line in each photo, see photos.Shot


def show(case: Case, studio: Studio) -> Shown:
    """Take the photographs of a case."""
    text, truth = size_line(case)
    count = SEVERAL if case.kind == "worn, 3 photos" else 1
    shots = [studio.shoot(case.recipe, case.seed + k, text, case.seed) for k in range(count)]
    best = max(shots, key=lambda shot: shot.clarity)
    pictures = tuple(shot.pixels for shot in shots)
    part = "none" if case.kind in EMPTY else best.part
    outlines = tuple(shot.polygon for shot in shots)
    return Shown(pictures, text, truth, part, best.clarity, best.cap, best.font, outlines)


def size_line(case: Case) -> tuple[str, Truth]:
    """The text that a case is about and the sizes that it can mean, none for other texts."""
    if case.kind == "nothing":
        return "", frozenset()
    rng = np.random.default_rng((case.seed, 78))
    rim = case.recipe.part == "rim"
    if case.kind == "other texts":
        return _other(rng), frozenset()
    while True:
        text, _ = draw_line(rng, "rim_size" if rim else "tyre_size", held_out=True)
        settled = settles(text, rim)
        if case.kind != "names alone" and settled:
            return text, settled
        if case.kind == "names alone" and not settled and (named := _named(text)):
            return text, named


def _other(rng: np.random.Generator) -> str:
    """A line that is no bicycle size: a car tyre's, a date, a page of print, a load…"""
    while True:
        text, _ = draw_line(rng, str(rng.choice(OTHER_TEXTS)), held_out=True)
        if not settles(text, rim=True):
            return text


def _named(text: str) -> Truth:
    """Every size that the inch and French names in a text can mean, widths as far as they tell."""
    tables = load_tables()
    return frozenset(
        (meaning.size.bsd, meaning.size.width or 0.0)
        for marking in parse_text(text)
        for meaning in meanings(marking.notation, marking.numbers, tables)
        if meaning.part == "tyre"
    )


def spelled(truth: Truth) -> str:
    """A truth as text for a table: '47-507', or '37-590|37-597'."""
    return "|".join(str(Size(bsd, width or None)) for bsd, width in sorted(truth))
