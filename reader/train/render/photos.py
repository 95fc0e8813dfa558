"""Whole photographs of rendered tyres and rims with their truth, for samples and benchmarks.

Fonts, textures, backgrounds and invented names are the held-out ones, so no model has seen them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from reader.records import Floats, Pixels
from reader.train.render.clarity import clarity
from reader.train.render.finish import colour, glare, magnify
from reader.train.render.glyphs import draw_mask, draw_setting
from reader.train.render.kinds import RECIPES, Recipe
from reader.train.render.noise import NoiseBank
from reader.train.render.scenes import Life, render_scene, stack_sheets, to_device
from reader.train.render.shade import Dice
from reader.train.render.sheet import UNIT, Item, Look, Sheet, draw_sheet
from reader.train.render.texts import draw_line
from reader.train.render.truth import settles
from reader.train.render.viewpoint import aim, draw_view, outline, step_back

__all__ = ["HELD_OUT_BANK", "RECIPES", "Recipe", "Shot", "shoot"]

HELD_OUT_BANK = 424_242
MARGIN = 10  # sheet pixels around the letters of the size line


@dataclass(frozen=True, eq=False)
class Shot:
    """One photograph: RGB pixels, the size text shown (or ''), where it lies, how clear it is."""

    pixels: Pixels
    truth: str
    part: str
    polygon: Floats  # 4 x 2, around the size line; empty without one
    cap: float  # capital height of the size line in the picture
    clarity: float = 0.0  # see clarity.clarity; 0 without a size line
    font: str = ""  # file name of the size line's letters


def draw_sheet_around(
    rng: np.random.Generator, recipe: Recipe, fonts: list[Path], length: float
) -> Sheet:
    """A sheet whose size line is known: other texts around, one size line (or two) on it."""

    def write(inner: np.random.Generator, kind: str) -> tuple[str, str]:
        while True:  # a random text may name a size by chance: (23-317)
            drawn = draw_line(inner, kind, held_out=True)
            if kind != "random" or not settles(drawn[0], rim=True):
                return drawn

    breadth = float(rng.uniform(2.6, 5.0) if recipe.part == "rim" else rng.uniform(4.5, 10.0))
    density = 0.0 if recipe.name == "nothing" else float(rng.uniform(0.3, 0.6))
    look = Look(recipe.kind, others=recipe.others, size_share=0.0, density=density)
    return draw_sheet(rng, length, breadth, look, fonts, write)


@dataclass(frozen=True)
class Piece:
    """A part that may be photographed again: by another camera, in other light."""

    model: int  # seed of all that its model shares: letters, other texts, mould, radius
    wear: int  # seed of what is its own: scratches, dirt, cracks

    def life(self, device: str) -> Life:
        """What its surface follows from."""
        bank = NoiseBank(self.wear, device, per_kind=1)
        return Life(Dice(self.model, 1, device), Dice(self.wear, 1, device), bank)


@dataclass(frozen=True)
class Line:
    """A size line to be set: its text, the drawn letters, whether upside down, their font."""

    text: str
    mask: Pixels
    flip: bool
    font: str


def draw_size(rng: np.random.Generator, recipe: Recipe, fonts: list[Path], text: str) -> Line:
    """A size line and its lettering; a random one where `text` is empty."""
    wanted = "rim_size" if recipe.part == "rim" else "tyre_size"
    drawn, _ = draw_line(rng, wanted, held_out=True)
    text = text or drawn
    setting = replace(draw_setting(rng, fonts), outline=0.0)
    mask = draw_mask(text, setting, UNIT, MARGIN)
    return Line(text, mask, bool(rng.random() < 0.35), setting.font.name)


def add_size(rng: np.random.Generator, sheet: Sheet, recipe: Recipe, line: Line, n: int) -> Pixels:
    """Set the size line on the sheet `n` times, clearing what is there; returns its own layer."""
    mask = np.ascontiguousarray(line.mask[::-1, ::-1]) if line.flip else line.mask
    length, breadth = sheet.size
    rows, columns = sheet.relief.shape
    tall, wide = mask.shape
    top = int(rng.integers(2, max(3, rows - tall - 2)))
    letters = np.zeros_like(sheet.relief)
    for k in range(n):
        middle = length * (k + 0.5) / n + float(rng.uniform(-2, 2))
        left = round(middle * UNIT - wide / 2)
        if left < 0 or left + wide > columns:
            left = max(0, (columns - wide) // 2)
        _clear(sheet, top, left, tall, wide)
        window = np.s_[top : top + tall, left : left + wide]
        target = sheet.relief if recipe.kind in (0, 3, 4) else sheet.ink
        cut = target[window].shape
        target[window] = letters[window] = mask[: cut[0], : cut[1]]
        if recipe.kind == 2:
            sheet.panel[window] = 255
        ends = [(x / UNIT - length / 2) for x in (left + MARGIN, left + wide - MARGIN)]
        start, end = reversed(ends) if line.flip else ends
        across = (top + MARGIN + UNIT / 2) / UNIT - breadth / 2
        sheet.items.append(Item(line.text, "answer", start, end, across, 1.0))
    return letters


def _clear(sheet: Sheet, top: int, left: int, tall: int, wide: int) -> None:
    """Wipe the window, and whole every other text that reaches into it."""
    length, breadth = sheet.size
    layers = (sheet.relief, sheet.ink, sheet.panel)
    for layer in layers:
        layer[top : top + tall, left : left + wide] = 0
    for item in list(sheet.items):
        x0, x1 = sorted(round((x + length / 2) * UNIT) for x in (item.start, item.end))
        reach = 0.95 * item.cap * UNIT
        y = (item.middle + breadth / 2) * UNIT
        y0, y1 = max(0, round(y - reach)), round(y + reach)
        x0, x1 = max(0, x0 - UNIT), x1 + UNIT
        meets = x0 < left + wide and x1 > left and y0 < top + tall and y1 > top
        if meets and item.kind != "answer":
            for layer in layers:
                layer[y0:y1, x0:x1] = 0
            sheet.items.remove(item)


def shoot(
    recipe: Recipe,
    seed: int,
    fonts: list[Path],
    backgrounds: Tensor,
    device: str = "cpu",
    bank: NoiseBank | None = None,
    text: str = "",
    line_seed: int | None = None,
    piece: Piece | None = None,
) -> Shot:
    """Render one photograph.

    Args:
        recipe: what to photograph.
        seed: everything but the size line follows from it.
        fonts: font files for all texts.
        backgrounds: N x S x S grey pictures 0..1, on any device.
        device: where torch renders.
        bank: textures; the held-out ones by default.
        text: the size line; a random one by default.
        line_seed: the size line and its lettering, so that two photos can show one part.
        piece: the very part, so that two photos show the same scratches as well.
    """
    rng = np.random.default_rng(seed)
    made = rng if piece is None else np.random.default_rng((piece.model, 9))
    if device != "cpu":
        torch.cuda.manual_seed(seed)  # the camera's noise is drawn there
    if piece is not None:
        line_seed = piece.model
    line_rng = np.random.default_rng((line_seed if line_seed is not None else seed, 77))
    line = draw_size(line_rng, recipe, fonts, text)
    view = draw_view(recipe, seed)
    if piece is not None:
        of_model = draw_view(recipe, piece.model)
        view.radius = of_model.radius / of_model.cap * view.cap
    height, width = recipe.size
    aim(recipe, view, rng, line.flip)
    length = 2 * math.pi * float(view.radius[0] / view.cap[0])
    if not recipe.whole:
        least = recipe.caps[0] if piece is not None else float(view.cap[0])
        length = min(length, max(1.25 * width / least, 3 * line.mask.shape[1] / UNIT))
    sheet = draw_sheet_around(made, recipe, fonts, min(length, 700.0))
    letters = None
    if recipe.part != "none":
        letters = add_size(made, sheet, recipe, line, 2 if recipe.whole else 1)
    if letters is not None and not recipe.whole:
        step_back(recipe, view, sheet)
    masks, _ = stack_sheets([sheet])
    bank = bank or NoiseBank(HELD_OUT_BANK, device, per_kind=4)
    picture, face, _ = render_scene(
        masks.to(device),
        to_device(view, device),
        (height, width),
        torch.full((1, 1, 1), recipe.kind, device=device),
        bank,
        Dice(seed, 1, device),
        backgrounds.to(device),
        1,
        recipe.hard,
        recipe.softness,
        0.0 if recipe.whole else 0.3,
        life=None if piece is None else piece.life(device),
    )
    grey = picture[0].cpu().numpy()
    polygon, cap = outline(view, sheet)
    if recipe.name == "glare" and len(polygon):
        grey = glare(grey, polygon, cap, rng)
    clear = clarity(grey, view, sheet, letters) if letters is not None else 0.0
    if recipe.name == "magnifier" and len(polygon):
        grey, polygon = magnify(grey, polygon, rng)
    shown, font = ("", "") if letters is None else (line.text, line.font)
    pixels = colour(grey, face[0].cpu().numpy(), rng)
    return Shot(pixels, shown, recipe.part, polygon, cap, clear, font)
