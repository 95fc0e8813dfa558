"""Folders of drawn used parts, some of them photographed in two folders: a set to find doubles in.

Every model has two pieces of the same text, letters and mould. The first piece is photographed
twice, by other cameras in other light, and stands in two folders; the second one in a third. Each
size is carried by several models.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from reader.train.render.photos import RECIPES, Piece, Recipe, Shot
from reader.train.render.samples import Studio, encode

FIRST_SEED, TUNING_SEED = 1_770_000, 3_100_000
TYRES = ("37-622 (28 x 1.40)", "47-559 (26 x 1.75)", "47-406 20x1.75", "28-622 700x28C", "47-507")
RIMS = ("622x19C", "559x21C")
LOOKS = {
    "tyre": (("printed", 0.35), ("moulded", 0.35), ("worn", 0.2), ("dirty", 0.1)),
    "rim": (("decal", 0.5), ("stamped", 0.25), ("engraved", 0.25)),
}
LEAST_WEAR = 0.9  # used parts: none in a depot is as new
SIZE, CAPS = (900, 1200), (22.0, 50.0)  # of the photos and of their letters, pixels
TRIES, CLEAR = 6, 0.35  # a person who can't read the marking takes another photo
COLUMNS = ("folder", "model", "piece", "text", "kind", "seed", "clarity")


@dataclass(frozen=True)
class Folder:
    """One photo in a folder of its own."""

    name: str
    model: int
    piece: int  # 0: photographed twice; 1: its sibling
    text: str
    kind: str  # key of RECIPES
    seed: int  # of the camera's first try

    @property
    def drawn(self) -> Piece:
        """The part as the renderer knows it."""
        return Piece(self.model, self.model * 10 + self.piece)


def folders(count: int, first: int = FIRST_SEED) -> Iterator[Folder]:
    """All folders of `count` models, in an order that tells nothing."""
    rng = np.random.default_rng(first)
    made = []
    for number in range(count):
        part = "rim" if number % 4 == 3 else "tyre"
        texts = RIMS if part == "rim" else TYRES
        kinds, shares = zip(*LOOKS[part], strict=True)
        kind, text = str(rng.choice(kinds, p=shares)), str(rng.choice(texts))
        for photo, piece in enumerate((0, 0, 1)):
            made.append((first + number, piece, text, kind, 100 * (first + number) + 10 * photo))
    for place, at in enumerate(rng.permutation(len(made))):
        yield Folder(f"{place:04d}", *made[int(at)])


def photograph(studio: Studio, folder: Folder) -> tuple[Shot, int]:
    """The first photo that is clear enough, or the clearest tried, with its seed."""
    usual = RECIPES[folder.kind]
    recipe: Recipe = replace(usual, size=SIZE, caps=CAPS, hard=max(LEAST_WEAR, usual.hard))
    tried: list[tuple[float, int, Shot]] = []
    for seed in range(folder.seed, folder.seed + TRIES):
        shot = studio.shoot(recipe, seed, folder.text, piece=folder.drawn)
        tried.append((shot.clarity, seed, shot))
        if shot.clarity >= CLEAR:
            break
    _, seed, shot = max(tried, key=lambda one: one[0])
    return shot, seed


def draw(studio: Studio, out: Path, some: Sequence[Folder]) -> None:
    """Write each folder's photo with its truth beside it; what is there already stays."""
    for folder in some:
        here = out / "photos" / folder.name
        if (out / f"{folder.name}.csv").exists():
            continue
        here.mkdir(parents=True, exist_ok=True)
        shot, seed = photograph(studio, folder)
        (here / "1.jpg").write_bytes(encode(shot.pixels, 85))
        row = (folder.name, folder.model, folder.piece, folder.text, folder.kind, seed)
        with (out / f"{folder.name}.csv").open("w", newline="") as file:
            csv.writer(file, lineterminator="\n").writerow((*row, f"{shot.clarity:.3f}"))
