"""The two sample clips, `python -m reader.train.render.sweep_samples`: drawn, chosen by eye.

What each shows, and what was read, stands in samples/sweeps/labels.csv.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reader.train.models.fit_finder import load_backgrounds
from reader.train.render.encode import encode
from reader.train.render.noise import NoiseBank
from reader.train.render.photos import HELD_OUT_BANK
from reader.train.render.sweeps import film

SIZE = (720, 1280)
SECONDS, FPS = 2.5, 20.0
BITS = 3_600_000  # a second: a clip takes 1.2 MB


@dataclass(frozen=True)
class SweepSample:
    """One clip to draw."""

    kind: str
    seed: int
    text: str

    @property
    def file(self) -> str:
        """Name of its file."""
        return f"sweep-{self.kind}-{self.seed}.mp4"


SWEEPS: tuple[SweepSample, ...] = (
    SweepSample("moulded", 204, "37-622 700 x 35C"),
    SweepSample("worn", 505, "47-559 (26 x 1.75)"),
)


def draw(sample: SweepSample, carry: Path, out: Path) -> None:
    """Draw one clip into a folder."""
    fonts = sorted((carry / "fonts" / "held-out").glob("*.?tf"))
    grounds = load_backgrounds(carry / "backgrounds" / "held-out")
    clip = film(
        sample.kind, sample.seed, fonts, grounds, NoiseBank(HELD_OUT_BANK, "cpu", 2), "cpu",
        SECONDS, FPS, sample.text, SIZE,
    )  # fmt: skip
    encode(out / sample.file, clip.frames, FPS, bits=BITS, options={"preset": "medium"})


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("samples/sweeps"))
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    options = parser.parse_args(arguments)
    for sample in SWEEPS:
        draw(sample, options.carry, options.out)


if __name__ == "__main__":
    main()
