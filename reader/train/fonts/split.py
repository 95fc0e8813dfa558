"""Which fonts are held out: whole families, a share of every class, twins kept together."""

from __future__ import annotations

import random
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from PIL import Image

from reader.records import Floats
from reader.train.fonts.check import glyph

HELD_OUT_SHARE = 0.15
SEED = 47507
_TWINS = 0.035  # mean difference of normalised digits below which two fonts count as one design
_VARIANT_WORDS = frozenset(
    re.findall(
        r"\w+",
        """adf and brk bold caption classic code cond condensed deca demi display exa
        expanded extended extra flex giga headline heavy italic light medium mini modern
        mono narrow neue next no no2 notch oblique one outline pro regular rounded sans
        sc semi serif slab solid std text tight title ui variable vf wide zetta""",
    )
)


def family_key(family: str) -> str:
    """What the cuts of one family have in common: its name without width, weight and such."""
    words = [w for w in re.findall(r"[a-z]+", family.lower()) if w not in _VARIANT_WORDS]
    return words[0] if words else re.sub(r"\W", "", family.lower())


def digit_shape(font: Path | bytes) -> Floats:
    """Digits 2 to 9, each stretched to 16 x 16, as one vector of 2048 values 0..1."""
    shapes = [_stretched(font, digit) for digit in "23456789"]
    return np.stack(shapes).astype(np.float32).ravel()


def _stretched(font: Path | bytes, letter: str) -> Floats:
    ink = glyph(font, letter)
    rows, columns = np.nonzero(ink)
    tight = ink[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    small = Image.fromarray(tight).resize((16, 16), Image.Resampling.BOX)
    return (np.asarray(small).astype(np.float32) / np.float32(255)).ravel()


def join_twins(keys: Sequence[str], shapes: Sequence[Floats]) -> list[str]:
    """Family keys after joining families whose digits look the same under different names.

    Open fonts are often renamed copies of each other; a copy in either set would leak.
    """
    joined = {key: key for key in keys}

    def root(key: str) -> str:
        while joined[key] != key:
            key = joined[key]
        return key

    table = np.stack(shapes)
    for index, shape in enumerate(table[:-1]):
        apart = np.abs(table[index + 1 :] - shape).mean(axis=1)
        for other in np.flatnonzero(apart < _TWINS) + index + 1:
            joined[root(keys[int(other)])] = root(keys[index])
    return [root(key) for key in keys]


def held_out(
    classes: Mapping[str, str], share: float = HELD_OUT_SHARE, seed: int = SEED
) -> set[str]:
    """Families to hold out, given each family's class: `share` of every class, at least one of
    each class that has three families or more."""
    by_class = defaultdict(list)
    for family, kind in sorted(classes.items()):
        by_class[kind].append(family)
    chance = random.Random(seed)
    chosen: set[str] = set()
    for kind in sorted(by_class):
        families = by_class[kind]
        count = max(round(share * len(families)), int(len(families) >= 3))
        chosen.update(chance.sample(families, count))
    return chosen
