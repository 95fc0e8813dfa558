"""A second, small depot of invented parts: what the first one lacks, each once.

`python -m reader.train.render.second_depot --out samples/depot-south` draws a tyre that was
photographed twice, into two folders; a car's tyre; a folder that shows two different tyres; a clip;
and a worn rim.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from reader.train.render.depot import SIZE, fitting
from reader.train.render.encode import encode
from reader.train.render.photos import RECIPES, Piece
from reader.train.render.samples import Studio
from reader.train.render.sweeps import film

BIN = "Bin 5 from the yard"


@dataclass(frozen=True)
class Photo:
    """One photo to draw: of which part, by which camera."""

    file: str
    kind: str  # key of RECIPES
    text: str
    seed: int  # of the camera
    model: int  # of the part
    hard: float


# Cameras chosen by looking: a person reads every size line and sees the same scratches twice.
PHOTOS: tuple[Photo, ...] = (
    Photo("tyre 501/photo 1.jpg", "worn", "47-559 (26 x 1.75)", 3, 905, 1.3),
    Photo("tyre 506/photo 1.jpg", "worn", "47-559 (26 x 1.75)", 5, 905, 1.3),
    Photo("tyre 502/photo 1.jpg", "printed", "205/55 R16 91V", 3, 906, 0.5),
    Photo("tyre 503/photo 1.jpg", "printed", "37-622 (28 x 1.40)", 4, 907, 0.5),
    Photo("tyre 503/photo 2.jpg", "printed", "47-507 (24 x 1.75)", 5, 908, 0.5),
    Photo("rim 504/photo 1.jpg", "decal", "622x19C", 0, 910, 1.0),
)
CLIP, CLIP_SEED, CLIP_TEXT = "tyre 505/sweep.mp4", 31, "37-622 700 x 35C"
CLIP_SIZE, SECONDS, FPS, BITS = (540, 960), 2.0, 15.0, 900_000


def render(studio: Studio, out: Path) -> None:
    """Write everything into `out`."""
    for photo in PHOTOS:
        recipe = replace(RECIPES[photo.kind], size=SIZE, caps=(30.0, 46.0), hard=photo.hard)
        piece = Piece(photo.model, photo.model * 10)
        shot = studio.shoot(recipe, 100 * photo.model + photo.seed, photo.text, piece=piece)
        path = out / BIN / photo.file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(fitting(shot.pixels))
        print(photo.file, f"{shot.clarity:.2f}", path.stat().st_size)
    clip = film(
        "moulded", CLIP_SEED, studio.fonts, studio.backgrounds, studio.bank, studio.device,
        SECONDS, FPS, CLIP_TEXT, CLIP_SIZE,
    )  # fmt: skip
    (out / BIN / CLIP).parent.mkdir(parents=True, exist_ok=True)
    encode(out / BIN / CLIP, clip.frames, FPS, bits=BITS, options={"preset": "medium"})


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("samples/depot-south"))
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    options = parser.parse_args(arguments)
    render(Studio.open(options.carry), options.out)


if __name__ == "__main__":
    main()
