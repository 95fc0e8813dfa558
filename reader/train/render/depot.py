"""Photographs of the bins of Quay Lane Repair Depot, which is invented, to try cataloguing on.

`python -m reader.train.render.depot --out samples/depot` writes `bin/part/*.jpg` and
truth.csv. How often which size lies in a bin is invented too; common sizes lead, as anyone who
sorts bins would expect.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from reader.records import PartKind, Pixels
from reader.train.render.photos import RECIPES, Recipe, Shot
from reader.train.render.samples import Studio, encode, iso_size

LARGEST = 120_000  # bytes a photo
QUALITIES = (80, 70, 60, 50)  # of JPEG, best first
SIZE = (900, 1200)
TRIES = 14
# Parts of which the first photo says all: a second one would only make the samples larger.
ONE_LOOK = frozenset(f"tyre 3{number:02d}" for number in (2, 3, 4, 8, 9, 10, 11, 15))
COLUMNS = ("file", "bin", "part_name", "part", "text", "iso_size", "wear")

# What lies in each bin: (text as it stands on the part, how many parts carry it).
BINS: dict[str, tuple[str, tuple[tuple[str, int], ...]]] = {
    "Bin 1 road and trekking": (
        "tyre",
        (
            ("28-622 700x28C", 3),
            ("37-622 (28 x 1.40)", 4),
            ("32-622", 2),
            ("42-622 (28x1.60)", 2),
            ("25-622 700 x 25C", 2),
            ("47-622", 2),
            ("37-590 (26 x 1 3/8)", 2),
        ),
    ),
    "Bin 2 mountain": (
        "tyre",
        (
            ("47-559 (26 x 1.75)", 4),
            ("54-559 26x2.10", 4),
            ("50-559", 2),
            ("57-584 (27.5 x 2.25)", 2),
            ("57-622 29x2.25", 2),
            ("52-559", 1),
        ),
    ),
    "Bin 3 children and folding": (
        "tyre",
        (
            ("47-507 (24 x 1.75)", 3),
            ("47-406 20x1.75", 4),
            ("47-305 (16 x 1.75)", 3),
            ("57-203", 1),
            ("40-406", 1),
            ("37-349 16 x 1 3/8", 1),
            ("37-540 (24 x 1 3/8)", 2),
        ),
    ),
    "Bin 4 rims": (
        "rim",
        (
            ("622x19C", 4),
            ("559 x 21C", 3),
            ("622x17", 2),
            ("584x25", 1),
            ("406x20C", 2),
            ("507x19", 1),
            ("21-559", 1),
            ("ETRTO 622x21C", 1),
        ),
    ),
}
# Recipe, how often, least clarity of its photos.
TYRE_LOOKS = (
    ("printed", 0.4, 0.6),
    ("moulded", 0.3, 0.5),
    ("worn", 0.2, 0.3),
    ("dirty", 0.1, 0.25),
)
RIM_LOOKS = (("decal", 0.5, 0.6), ("stamped", 0.25, 0.5), ("engraved", 0.25, 0.5))


@dataclass(frozen=True)
class Piece:
    """One part on the shelf."""

    bin: str
    name: str
    part: PartKind
    text: str
    wear: str  # key of RECIPES
    clear: float
    photos: int
    seed: int


def pieces(seed: int = 5) -> Iterator[Piece]:
    """All parts of the depot, shuffled within their bins."""
    rng = np.random.default_rng(seed)
    for number, (folder, (part, stock)) in enumerate(BINS.items(), 1):
        texts = [text for text, count in stock for _ in range(count)]
        for index, at in enumerate(rng.permutation(len(texts)), 1):
            looks = RIM_LOOKS if part == "rim" else TYRE_LOOKS
            shares = np.array([share for _, share, _ in looks])
            wear, _, clear = looks[int(rng.choice(len(looks), p=shares))]
            name = f"{part} {number}{index:02d}"
            twice = rng.random() < 0.35
            yield Piece(
                bin=folder,
                name=name,
                part="rim" if part == "rim" else "tyre",
                text=texts[int(at)],
                wear=wear,
                clear=clear,
                photos=2 if twice and name not in ONE_LOOK else 1,
                seed=1000 * number + 20 * index,
            )


def photograph(studio: Studio, piece: Piece, first: int) -> tuple[Shot, int]:
    """The first photo from seed `first` on that is clear and small enough, or the best tried."""
    recipe: Recipe = replace(RECIPES[piece.wear], size=SIZE, caps=(22.0, 50.0))
    tried: list[tuple[bool, float, int, Shot]] = []
    for seed in range(first, first + TRIES):
        shot = studio.shoot(recipe, seed, piece.text, piece.seed)
        small = len(encode(shot.pixels, QUALITIES[-1])) <= LARGEST
        tried.append((small, shot.clarity, seed, shot))
        if small and shot.clarity >= piece.clear:
            break
    _, _, seed, shot = max(tried, key=lambda one: one[:2])
    return shot, seed


def fitting(pixels: Pixels) -> bytes:
    """A JPEG of the best quality that keeps a photo small enough."""
    for quality in QUALITIES:
        picture = encode(pixels, quality)
        if len(picture) <= LARGEST:
            break
    return picture


def render(studio: Studio, out: Path, shelf: Sequence[Piece]) -> None:
    """Write the photos of these parts into `out`."""
    for piece in shelf:
        for index, file in enumerate(files(piece)):
            shot, _ = photograph(studio, piece, 100 * (piece.seed + index))
            (out / file).parent.mkdir(parents=True, exist_ok=True)
            (out / file).write_bytes(fitting(shot.pixels))


def files(piece: Piece) -> list[str]:
    """Paths of its photos within the depot's folder."""
    return [f"{piece.bin}/{piece.name}/photo {k + 1}.jpg" for k in range(piece.photos)]


def write_truth(out: Path, shelf: Sequence[Piece]) -> None:
    """Write truth.csv: what each photo shows."""
    with (out / "truth.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for piece in shelf:
            size = iso_size(piece.text)
            for name in files(piece):
                row = (name, piece.bin, piece.name, piece.part, piece.text, size, piece.wear)
                writer.writerow(row)


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("samples/depot"))
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    options = parser.parse_args(arguments)
    shelf = list(pieces())
    render(Studio.open(options.carry), options.out, shelf)
    write_truth(options.out, shelf)


if __name__ == "__main__":
    main()
