"""The drawn clips that sweeps are measured and fitted on, by kind and number.

Seeds 1,800,000 to 1,869,999 are the frozen set, 2,500,000 to 2,569,999 what numbers are fitted on.
The two share no font: the held-out fonts are parted by design (family group), one half for each;
grounds and textures are the held-out ones with banks of their own.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

import numpy as np
from torch import Tensor

from reader.train.models.fit_finder import load_backgrounds
from reader.train.render.kinds import RECIPES
from reader.train.render.noise import NoiseBank
from reader.train.render.sweeps import KINDS, Clip, film
from reader.train.render.texts import draw_line
from reader.train.render.truth import Truth, settles

FIRST_SEED = {"report": 1_800_000, "fit": 2_500_000}
BANK = {"report": 515_151, "fit": 626_262}
SEEDS_A_KIND = 10_000
SECONDS, FPS = 3.0, 20.0


@dataclass(frozen=True)
class SweepCase:
    """One clip of a set."""

    group: str  # 'report' or 'fit'
    kind: str  # key of sweeps.KINDS
    number: int

    @property
    def seed(self) -> int:
        """Everything about the clip follows from it."""
        place = list(KINDS).index(self.kind)
        return FIRST_SEED[self.group] + SEEDS_A_KIND * place + self.number


@dataclass(frozen=True, eq=False)
class Set:
    """Fonts, grounds and textures of one set, on the device where torch renders."""

    group: str
    fonts: list[Path]
    backgrounds: Tensor
    bank: NoiseBank
    device: str

    @classmethod
    def open(cls, group: str, carry: Path, device: str = "cpu") -> Set:
        """From packs as reader.train.fonts.packs and reader.train.render.backgrounds build them."""
        grounds = load_backgrounds(carry / "backgrounds" / "held-out")
        half = int(group == "report")
        return cls(
            group, fonts_of(group, carry), grounds[half::2], NoiseBank(BANK[group], device, 2),
            device,
        )  # fmt: skip

    def film(self, case: SweepCase) -> tuple[Clip, Truth]:
        """The clip with the one size that its text names, none where nothing is to be read."""
        text, truth = size_text(case)
        clip = film(
            case.kind, case.seed, self.fonts, self.backgrounds, self.bank, self.device,
            SECONDS, FPS, text,
        )  # fmt: skip
        return clip, truth


def size_text(case: SweepCase) -> tuple[str, Truth]:
    """A size line that settles a size by itself; '' for the kind without one."""
    recipe = RECIPES[KINDS[case.kind]]
    if recipe.part == "none":
        return "", frozenset()
    rng = np.random.default_rng((case.seed, 78))
    rim = recipe.part == "rim"
    while True:
        text, _ = draw_line(rng, "rim_size" if rim else "tyre_size", held_out=True)
        if settled := settles(text, rim):
            return text, settled


def fonts_of(group: str, carry: Path) -> list[Path]:
    """The held-out fonts of one set."""
    folder = carry / "fonts"
    with (folder / "index.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["set"] == "held-out"]
    wanted = int(group == "report")
    return sorted(
        folder / row["path"] for row in rows if crc32(row["group"].encode()) % 2 == wanted
    )


def cases(group: str, clips: int, kinds: list[str]) -> Iterator[SweepCase]:
    """All cases, kind by kind in turn, so that a run cut short has some of each."""
    for number in range(clips):
        for kind in kinds:
            yield SweepCase(group, kind, number)
