"""Texts that a size line is replaced by: names alone, widths alone, tyres of motor vehicles.

What most parts in use bear (common practice, no source): many tyres show no pair on the side that
is photographed, many rims only a name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from numpy.random import Generator

from reader.train.render.decoys import draw_decoy
from reader.train.render.texts import spell
from reader.train.render.textsizes import draw_name, draw_size, name_kinds, pick


@dataclass(frozen=True)
class Family:
    """Parts of one kind: which recipes photograph them, how often, and the text on them."""

    recipes: tuple[str, ...]
    often: int  # parts a round
    draw: Callable[[Generator], str]


def draw_tyre_name(rng: Generator) -> str:
    """An inch or French name, spelled as on tyres: '26X1-3/8', '700 x 28C'."""
    while True:
        size, width = draw_size(rng)
        kinds = name_kinds(size, width)
        if kinds:
            return spell(rng, draw_name(rng, size, width, pick(rng, kinds)))


def draw_rim_name(rng: Generator) -> str:
    """A name on a rim, which has no width of a tyre: '700C', '27 x 1 1/4', '26"'."""
    while True:
        size, _ = draw_size(rng)
        names = [size.french] * 2 * bool(size.french) + [*size.inch, *size.decimal]
        if names:
            name = pick(rng, names)
            return name + '"' if name.replace(".", "").isdigit() else spell(rng, name)


def draw_width(rng: Generator) -> str:
    """A width without a diameter: '25 mm', '2.1', '38C'."""
    mm = pick(rng, [23, 25, 28, 30, 32, 35, 38, 40, 42, 45, 47, 50])
    inch = pick(rng, ["1.5", "1.75", "1.95", "2.0", "2.1", "2.10", "2.25", "2.35", "2.4", "2.6"])
    return pick(rng, [f"{mm}mm", f"{mm} mm", f"{mm}C", inch, f'{inch}"'])


def draw_motor(rng: Generator) -> str:
    """A motor vehicle's tyre."""
    while True:
        text = draw_decoy(rng)
        digits = text[:3].replace("/", "").replace(".", "").isdigit()
        if digits and ("R" in text or "-" in text) and "V " not in text:
            return text


ON_TYRES = ("moulded", "printed", "worn", "dirty", "glare", "moulded", "printed")
FAMILIES = {
    "tyre name": Family(ON_TYRES, 6, draw_tyre_name),
    "rim name": Family(("decal", "stamped", "engraved"), 1, draw_rim_name),
    "width": Family(("moulded", "printed"), 1, draw_width),
    "motor vehicle": Family(("moulded", "worn"), 2, draw_motor),
    "clutter": Family(("other texts", "nothing"), 2, lambda rng: ""),
    "tyre name, close": Family(("close", "close printed"), 4, draw_tyre_name),
}
