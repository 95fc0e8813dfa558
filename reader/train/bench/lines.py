"""Single lines of moulded lettering, found and straightened already: letters only, no grammar.

Each line is rendered twice with the same chances, with its letters and without; what differs is the
lettering. Contrast is the strength of that difference in grey levels (root mean square, of 255),
and what a reader has to tell it from is the ground's own texture.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import cv2
import numpy as np
import torch

from reader.errors import InputError
from reader.ocr.alphabet import fold
from reader.ocr.moulded import Moulded
from reader.ocr.scene import Scene
from reader.ocr.tesseract import Tesseract
from reader.records import Floats, Photo, Pixels, Region, Strip
from reader.train.bench.read import DESKS
from reader.train.render.lines import MARGIN, LineMask, draw_line_mask, render_strips
from reader.train.render.samples import Studio
from reader.train.render.shade import Dice
from reader.train.render.texts import draw_line

FIRST_SEED = 1_400_000
BATCH = 32  # lines of one job: they share the size of their letters
WIDEST = 16.0  # caps
MOULDED = 0  # index into render.KINDS
HARD = 0.9  # wear, see render.draw_wear
PEERS = ("scene engine", "tesseract")


@dataclass(frozen=True)
class LineRow:
    """One line, what stands there and what each engine reads."""

    batch: int
    number: int
    truth: str
    contrast: float  # grey levels
    clutter: float  # grey levels of the ground alone
    ours: str
    scene: str
    tesseract: str

    def exact(self, text: str) -> bool:
        """Whether a text is the truth; blanks and the case of letters are let pass."""
        return _plain(text) == _plain(self.truth)


def read_batch(batch: int) -> list[LineRow]:
    """Draw, render and read one batch of lines, in a worker that sits at its desk."""
    desk = DESKS[0]
    with desk.turn:
        strips, blank, truths = render(desk.studio, batch)
    cut = [_strip(pixels) for pixels in strips]
    ours, scene, tesseract = (
        [one.text for one in engine.read(cut)] for engine in (Moulded(), Scene(), Tesseract())
    )
    rows = []
    for k, truth in enumerate(truths):
        contrast, clutter = measure(strips[k], blank[k])
        texts = ours[k], scene[k], tesseract[k]
        rows.append(LineRow(batch, k, truth, contrast, clutter, *texts))
    return rows


def render(studio: Studio, batch: int) -> tuple[list[Pixels], list[Pixels], list[str]]:
    """Strips with letters, the same without, and what they say."""
    seed = FIRST_SEED + batch
    rng = np.random.default_rng(seed)
    lines: list[LineMask] = []
    while len(lines) < BATCH:
        line = draw_line_mask(rng, studio.fonts, _write, WIDEST)
        if line.truth:
            lines.append(line)
    wide = max(line.mask.shape[1] for line in lines)
    masks = np.zeros((BATCH, lines[0].mask.shape[0], wide), np.uint8)
    for k, line in enumerate(lines):
        masks[k, :, : line.mask.shape[1]] = line.mask
    device = studio.device
    kind = torch.full((BATCH, 1, 1), MOULDED, device=device)
    pictures = []
    for letters in (masks, np.zeros_like(masks)):
        torch.manual_seed(seed)  # a card draws the camera's noise by itself
        dice = Dice(seed, BATCH, device)
        with torch.no_grad():
            strips = render_strips(
                torch.from_numpy(letters).to(device), kind, studio.bank, dice, HARD
            )
        pictures.append((strips * 255).round().byte().cpu().numpy())
    ends = [_end(line, wide, pictures[0].shape[2]) for line in lines]
    cut = [[strips[k, :, :end] for k, end in enumerate(ends)] for strips in pictures]
    return cut[0], cut[1], [line.truth for line in lines]


def _write(rng: np.random.Generator, kind: str) -> tuple[str, str]:
    return draw_line(rng, kind, held_out=True)


def _end(line: LineMask, wide: int, columns: int) -> int:
    """Where a strip shorter than the longest of its batch is cut off, with room to spare."""
    share = (line.mask.shape[1] - MARGIN * 1.4) / (wide - MARGIN * 1.4)
    return min(columns, max(96, round(columns * share) + 32))


def measure(strip: Pixels, blank: Pixels) -> tuple[float, float]:
    """Contrast of the lettering and clutter of the ground, in grey levels.

    Slow changes of light are taken out of both.
    """
    seen, ground = (_flat(pixels) for pixels in (strip, blank))
    return float((seen - ground).std()), float(ground.std())


def _flat(pixels: Pixels) -> Floats:
    grey = pixels.astype(np.float32)
    return np.asarray(grey - cv2.GaussianBlur(grey, (0, 0), 16), np.float32)


def _strip(pixels: Pixels) -> Strip:
    """A strip as the engines take it; the photo behind it is nothing but the strip."""
    pixels = np.ascontiguousarray(pixels)
    photo = Photo("line", np.repeat(pixels[..., None], 3, 2))
    height, width = pixels.shape
    line = np.array([[0, height / 2], [width, height / 2]], np.float32)
    return Strip(Region(photo, line, height / 1.5, 1.0, "box"), pixels)


def _plain(text: str) -> str:
    return "".join(fold(text).split()).upper()


def append(path: Path, rows: Iterable[LineRow]) -> None:
    """Add rows to a CSV, with its heading if it is new."""
    new = not path.exists() or not path.stat().st_size
    names = [one.name for one in fields(LineRow)]
    with path.open("a", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, names, lineterminator="\n")
        if new:
            writer.writeheader()
        for row in rows:
            cells = asdict(row)
            cells |= {name: round(cells[name], 2) for name in ("contrast", "clutter")}
            writer.writerow(cells)


def load(path: Path) -> list[LineRow]:
    """Rows of a CSV; none if there is no such file.

    Raises:
        InputError: the file is no table of lines.
    """
    if not path.exists():
        return []
    try:
        with path.open(encoding="utf-8", newline="") as stream:
            return [
                LineRow(
                    int(row["batch"]), int(row["number"]), row["truth"], float(row["contrast"]),
                    float(row["clutter"]), row["ours"], row["scene"], row["tesseract"],
                )
                for row in csv.DictReader(stream)
            ]  # fmt: skip
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(f"{path} is not a table of lines", "give another folder") from error
