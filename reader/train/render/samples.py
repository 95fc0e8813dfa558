"""Sample photographs for the read-me, the tests and a first try: rendered, labelled, chosen by eye.

`python -m reader.train.render.samples --out samples`
"""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image
from torch import Tensor

from reader.markings import PAIRS, parse_text
from reader.names.meanings import meanings
from reader.records import Pixels, Size
from reader.tables import load_tables
from reader.train.models.fit_finder import load_backgrounds
from reader.train.render.noise import NoiseBank
from reader.train.render.photos import HELD_OUT_BANK, RECIPES, Piece, Recipe, Shot, shoot

QUALITY = 85
ORIENTATION = 0x0112  # EXIF tag
COLUMNS = ("file", "kind", "part", "text", "iso_size", "seed", "note")
UPSIDE_DOWN, TURNED = "picture turned upside down", "turned by its EXIF tag"


@dataclass(frozen=True)
class Sample:
    """One photograph to render; `turn` is '', UPSIDE_DOWN or TURNED."""

    kind: str  # key of RECIPES
    seed: int
    note: str = ""
    turn: str = ""

    @property
    def file(self) -> str:
        """Name of its file."""
        return f"{self.kind.replace(' ', '-')}-{self.seed}.jpg"


# Seeds chosen by looking: a person reads every size line, the worn and dirty ones with care.
SAMPLES: tuple[Sample, ...] = (
    Sample("moulded", 102),
    Sample("moulded", 107, turn=UPSIDE_DOWN),
    Sample("moulded", 111),
    Sample("moulded", 126),
    Sample("printed", 120, "text stands upside down"),
    Sample("printed", 121, turn=TURNED),
    Sample("printed", 123),
    Sample("decal", 207, turn=UPSIDE_DOWN),
    Sample("decal", 224, "a shadow's edge across the line"),
    Sample("decal", 227),
    Sample("stamped", 300),
    Sample("stamped", 304),
    Sample("engraved", 400),
    Sample("engraved", 402),
    Sample("worn", 500),
    Sample("worn", 502),
    Sample("worn", 505, "text stands upside down"),
    Sample("dirty", 615),
    Sample("dirty", 626),
    Sample("tiny", 704, "capitals 9 pixels high"),
    Sample("tiny", 708),
    Sample("glare", 914),
    Sample("glare", 918, "the last digits in the lamp's reflection"),
    Sample("magnifier", 4, "text stands upside down"),
    Sample("magnifier", 812),
    Sample("nothing", 41, "no text at all"),
    Sample("nothing", 45, "no text at all"),
    Sample("other texts", 50, "no size"),
    Sample("other texts", 52, "no size"),
    Sample("whole", 101),
    Sample("whole printed", 101),
    Sample("whole printed", 102),
)


@dataclass(frozen=True, eq=False)
class Studio:
    """Held-out fonts, backgrounds and textures, loaded once; `device` is where torch renders."""

    fonts: list[Path]
    backgrounds: Tensor
    bank: NoiseBank
    device: str = "cpu"

    @classmethod
    def open(
        cls,
        folder: Path,
        device: str = "cpu",
        bank_seed: int = HELD_OUT_BANK,
        per_kind: int = 2,
        half: int | None = None,
    ) -> Studio:
        """Load from a folder with fonts/held-out and backgrounds/held-out (see fonts.py).

        `bank_seed` and `per_kind` make the bank of textures. `half` 0 or 1 takes only every other
        design of letters and background, so that two sets of photographs share none.
        """
        fonts = sorted((folder / "fonts" / "held-out").glob("*.?tf"))
        backgrounds = load_backgrounds(folder / "backgrounds" / "held-out").to(device)
        if half is not None:
            fonts = every_other(fonts, folder / "fonts" / "index.csv", half)
            backgrounds = backgrounds[half::2]
        return cls(fonts, backgrounds, NoiseBank(bank_seed, device, per_kind), device)

    def shoot(
        self,
        recipe: Recipe,
        seed: int,
        text: str = "",
        line_seed: int | None = None,
        piece: Piece | None = None,
    ) -> Shot:
        """One photograph, see photos.shoot."""
        return shoot(
            recipe, seed, self.fonts, self.backgrounds, self.device,
            bank=self.bank, text=text, line_seed=line_seed, piece=piece,
        )  # fmt: skip


def every_other(fonts: list[Path], index: Path, half: int) -> list[Path]:
    """The fonts of every other group of designs, beginning with group number `half`."""
    with index.open(encoding="utf-8", newline="") as stream:
        groups = {Path(row["path"]).name: row["group"] for row in csv.DictReader(stream)}
    mine = sorted({groups[font.name] for font in fonts})[half::2]
    return [font for font in fonts if groups[font.name] in mine]


@cache
def iso_size(text: str) -> str:
    """The ISO size that a text names outright ('47-507'), by a pair or a rim's mark, or ''."""
    for marking in parse_text(text):
        if marking.notation in PAIRS:
            bsd, width = int(marking.numbers["bsd_mm"]), float(marking.numbers["width_mm"])
            known = meanings(marking.notation, marking.numbers, load_tables())
            if any(meaning.size.bsd == bsd for meaning in known):
                return str(Size(bsd, width))
    return ""


def encode(pixels: Pixels, quality: int = QUALITY, turn: str = "") -> bytes:
    """A JPEG: upright, turned half round, or lying on its side with the EXIF tag that rights it."""
    if turn == UPSIDE_DOWN:
        pixels = np.ascontiguousarray(pixels[::-1, ::-1])
    exif = Image.Exif()
    if turn == TURNED:
        pixels = np.ascontiguousarray(np.rot90(pixels))
        exif[ORIENTATION] = 6  # to be turned a quarter clockwise
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=quality, exif=exif)
    return file.getvalue()


def render(studio: Studio, out: Path, samples: Sequence[Sample] = SAMPLES) -> None:
    """Write all samples and labels.csv into `out`."""
    out.mkdir(parents=True, exist_ok=True)
    rows = []
    for sample in samples:
        shot = studio.shoot(RECIPES[sample.kind], sample.seed)
        (out / sample.file).write_bytes(encode(shot.pixels, turn=sample.turn))
        rows.append(label(sample, shot))
    with (out / "labels.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows)


def label(sample: Sample, shot: Shot) -> tuple[str, ...]:
    """The sample's row of labels.csv."""
    part = "unknown" if shot.part == "none" else shot.part
    size = iso_size(shot.truth)
    note = "; ".join(filter(None, (sample.turn, sample.note)))
    return sample.file, sample.kind, part, shot.truth, size, str(sample.seed), note


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("samples"))
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    options = parser.parse_args(arguments)
    render(Studio.open(options.carry), options.out)


if __name__ == "__main__":
    main()
