"""Score our recogniser on a shop's own settled markings, and train it on from them.

    tyremark training lines/
    python -m reader.train.models.shop lines/
    python -m reader.train.models.shop lines/ --train --minutes 30 --out lines.pt

The first command writes the strips that people settled, with their text (see README); the second
says how many of them the packaged recogniser reads; the third goes on from it, half the time on
these strips and half on drawn ones, so that nothing is forgotten. Every third strip is kept apart
and only scored. All of it stays on this machine: files are read and written, nothing is sent.
`reader.train.models.export` packs what comes out; measure it with the benchmarks before use.
"""

from __future__ import annotations

import argparse
import csv
import sys
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from reader.errors import InputError
from reader.markings import MEASURES
from reader.ocr.alphabet import ALPHABET
from reader.ocr.moulded import Moulded
from reader.records import Photo, Pixels, Region, Size, Strip
from reader.text.normalise import fold
from reader.work import markings_of

APART = 3  # every third strip, by its name, is never trained on
MORE = 1  # letters that are read beyond a text, at most: a person types the size, not the line
FEWEST = 60  # strips with a text, from which training is worth it


@dataclass(frozen=True, eq=False)
class Line:
    """One strip that a person settled: its pixels, its text ('' if untold), and its size."""

    file: str
    pixels: Pixels
    text: str
    size: str

    @property
    def is_apart(self) -> bool:
        """Whether it is kept for scoring; by its name, so that more strips move none."""
        return zlib.crc32(self.file.encode()) % APART == 0


def load(folder: Path) -> list[Line]:
    """The strips of a folder that `tyremark training` wrote.

    Raises:
        InputError: there is no lines.csv, or it names a picture that is not there.
    """
    table = folder / "lines.csv"
    try:
        with table.open(encoding="utf-8", newline="") as stream:
            return [_line(folder, row) for row in csv.DictReader(stream)]
    except (OSError, KeyError, ValueError) as error:
        remedy = "write the folder with: tyremark training FOLDER"
        raise InputError(f"{table} can't be used ({error})", remedy) from error


def _line(folder: Path, row: dict[str, str]) -> Line:
    with Image.open(folder / row["file"]) as picture:
        pixels = np.asarray(picture.convert("L"), np.uint8)
    return Line(row["file"], pixels, row["text"], row["size"])


@dataclass(frozen=True)
class Score:
    """How many strips were read: letter by letter, of those with a text, and to the right size."""

    lines: int
    texts: int
    exact: int
    sizes: int

    def __str__(self) -> str:
        return (
            f"{self.sizes} of {self.lines} sizes read; "
            f"{self.exact} of {self.texts} texts letter for letter"
        )


def score(lines: Sequence[Line]) -> Score:
    """What the packaged recogniser makes of them."""
    strips = [Strip(_region(line), line.pixels) for line in lines]
    seen = Moulded().read(strips) if strips else []
    told = [line for line in lines if line.text]
    exact = sum(
        bool(line.text) and spelled(one.text) == spelled(line.text)
        for line, one in zip(lines, seen, strict=True)
    )
    sizes = 0
    for line, one in zip(lines, seen, strict=True):
        found = [m for m in markings_of(one) if m.notation in MEASURES and "width_mm" in m.numbers]
        best = min(found, key=lambda marking: marking.cost, default=None)
        if best is not None:
            size = Size(int(best.numbers["bsd_mm"]), float(best.numbers["width_mm"]))
            sizes += str(size) == line.size
    return Score(len(lines), len(told), exact, sizes)


def whole(lines: Sequence[Line]) -> list[Line]:
    """Lines whose text seems to be all that stands in the strip, none of it left out."""
    strips = [Strip(_region(line), line.pixels) for line in lines]
    seen = Moulded().read(strips) if strips else []
    return [
        line
        for line, one in zip(lines, seen, strict=True)
        if len(spelled(one.text)) <= len(spelled(line.text)) + MORE
    ]


def _region(line: Line) -> Region:
    high, wide = line.pixels.shape
    photo = Photo(line.file, np.zeros((high, wide, 3), np.uint8))
    ends = np.array([[0, high / 2], [wide, high / 2]], np.float32)
    return Region(photo, ends, high / 1.5)


def spelled(text: str) -> str:
    """A text in the recogniser's letters, spaces left out."""
    return "".join(letter for letter in fold(text)[0] if letter in ALPHABET and letter != " ")


def main(arguments: Sequence[str] | None = None) -> int:
    """Score, and train if asked to."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.models.shop", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("folder", type=Path)
    parser.add_argument("--train", action="store_true")
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--out", type=Path, default=Path("lines.pt"), help="checkpoint to write")
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts"))
    parser.add_argument("--device", default="cpu")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args(arguments)
    try:
        lines = load(args.folder)
        print(f"all: {score(lines)}")
        apart = [line for line in lines if line.is_apart]
        print(f"kept apart: {score(apart)}", flush=True)
        if args.train:
            _train(lines, args)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _train(lines: Sequence[Line], args: argparse.Namespace) -> None:
    usable = whole([line for line in lines if line.text and not line.is_apart])
    if len(usable) < FEWEST:
        raise InputError(
            f"{len(usable)} strips with a text are too few to train on, {FEWEST} are wanted",
            "settle more parts in the review, and type what you read",
        )
    if not sorted((args.fonts / "train").glob("*.?tf")):
        raise InputError(
            f"{args.fonts} has no fonts to draw lines with",
            "make them: python -m reader.train.fonts.packs",
        )
    from reader.train.models.shop_train import train

    train(usable, [line for line in lines if line.is_apart], args)


if __name__ == "__main__":
    sys.exit(main())
