"""Whole photographs of rendered tyres and rims with their truth, for samples and benchmarks.

Fonts, textures, backgrounds and invented names are the held-out ones, so no model has seen them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor

from reader.records import Floats, Pixels
from reader.train import geometry
from reader.train.glyphs import draw_mask, draw_setting
from reader.train.noise import NoiseBank
from reader.train.render import Dice
from reader.train.scenes import render_scene, stack_sheets, to_device
from reader.train.sheet import Item, Look, Sheet, draw_sheet
from reader.train.texts import draw_line

HELD_OUT_BANK = 424_242


@dataclass(frozen=True)
class Recipe:
    """What to photograph; lengths in pixels."""

    name: str
    kind: int  # index into render.KINDS
    part: str = "tyre"  # 'tyre', 'rim', 'none'
    hard: float = 0.6  # wear, 0 new to 2 rough
    size: tuple[int, int] = (1200, 1600)
    caps: tuple[float, float] = (22.0, 70.0)  # capital height of the main line
    whole: bool = False  # the wheel in view, text on its arc
    softness: float = 1.0
    flat: float = 0.25
    others: tuple[str, ...] = ("tyre_other", "tyre_other", "decoy")


RECIPES = {
    "decal": Recipe("decal", 2, "rim", 0.3, flat=0.6),
    "stamped": Recipe("stamped", 4, "rim", 0.3, flat=0.6),
    "engraved": Recipe("engraved", 3, "rim", 0.3, flat=0.6),
    "printed": Recipe("printed", 1, "tyre", 0.5),
    "moulded": Recipe("moulded", 0, "tyre", 0.15),
    "worn": Recipe("worn", 0, "tyre", 1.2),
    "dirty": Recipe("dirty", 0, "tyre", 1.7),
    "whole": Recipe("whole", 0, "tyre", 0.4, (3000, 4000), (16.0, 44.0), True, flat=0.0),
    "whole printed": Recipe("whole", 1, "tyre", 0.4, (3000, 4000), (14.0, 40.0), True, flat=0.0),
    "tiny": Recipe("tiny", 2, "rim", 0.3, (1500, 2000), (9.0, 16.0), flat=0.6),
    "magnifier": Recipe("magnifier", 2, "rim", 0.3, (1200, 1600), (30.0, 90.0), flat=0.6),
    "glare": Recipe("glare", 0, "tyre", 0.4),
    "nothing": Recipe("nothing", 0, "none", 0.6),
    "other texts": Recipe("other texts", 1, "none", 0.4, others=("decoy", "random", "tyre_other")),
}


@dataclass(frozen=True, eq=False)
class Shot:
    """One photograph: RGB pixels, the size text shown (or ''), where it lies, its contrast."""

    pixels: Pixels
    truth: str
    part: str
    polygon: Floats  # 4 x 2, around the size line; empty without one
    cap: float  # capital height of the size line in the picture


def _sheet(rng: np.random.Generator, recipe: Recipe, fonts: list[Path], length: float) -> Sheet:
    """A sheet whose size line is known: other texts around, one size line (or two) on it."""

    def write(inner: np.random.Generator, kind: str) -> tuple[str, str]:
        return draw_line(inner, kind, held_out=True)

    breadth = float(rng.uniform(2.6, 5.0) if recipe.part == "rim" else rng.uniform(4.5, 10.0))
    density = 0.0 if recipe.name == "nothing" else float(rng.uniform(0.3, 0.6))
    look = Look(recipe.kind, others=recipe.others, size_share=0.0, density=density)
    return draw_sheet(rng, length, breadth, look, fonts, write)


def _add_size(rng: np.random.Generator, sheet: Sheet, recipe: Recipe, fonts: list[Path], n: int) -> str:
    """Set the part's size line on the sheet `n` times, clearing what is under it."""
    wanted = "rim_size" if recipe.part == "rim" else "tyre_size"
    text, truth = draw_line(rng, wanted, held_out=True)
    setting = replace(draw_setting(rng, fonts), outline=0.0)
    unit = 24
    mask = draw_mask(text, setting, unit, 10)
    length, breadth = sheet.size
    wide = mask.shape[1] / unit
    rows = sheet.relief.shape[0]
    top = int(rng.integers(2, max(3, rows - mask.shape[0] - 2)))
    for k in range(n):
        flip = rng.random() < 0.35
        shown = np.ascontiguousarray(mask[::-1, ::-1]) if flip else mask
        middle = length * (k + 0.5) / n + float(rng.uniform(-0.1, 0.1)) * min(length / n, 10)
        left = round((middle - wide / 2) * unit)
        if left < 0 or left + mask.shape[1] > sheet.relief.shape[1]:
            left = max(0, (sheet.relief.shape[1] - mask.shape[1]) // 2)
        window = np.s_[top : top + mask.shape[0], left : left + mask.shape[1]]
        for layer in (sheet.relief, sheet.ink, sheet.panel):
            layer[window] = 0
        target = sheet.relief if recipe.kind in (0, 3, 4) else sheet.ink
        cut = target[window].shape
        target[window] = shown[: cut[0], : cut[1]]
        if recipe.kind == 2:
            sheet.panel[window] = 255
        start, end = (left + 10) / unit - length / 2, (left + mask.shape[1] - 10) / unit - length / 2
        across = (top + 10 + unit / 2) / unit - breadth / 2
        sheet.items.append(
            Item(truth, "answer", end if flip else start, start if flip else end, across, 1.0)
        )
    return truth


def shoot(
    recipe: Recipe,
    seed: int,
    fonts: list[Path],
    backgrounds: Tensor,
    device: str = "cpu",
    bank: NoiseBank | None = None,
) -> Shot:
    """Render one photograph."""
    rng = np.random.default_rng(seed)
    generator = torch.Generator().manual_seed(seed)
    view = geometry.draw_view(
        generator,
        1,
        recipe.size,
        recipe.caps,
        recipe.flat,
        radius_caps=(60.0, 110.0) if recipe.part == "tyre" else (55.0, 130.0),
        steepest=0.7,
    )
    height, width = recipe.size
    _aim(recipe, view, rng, height, width)
    length = 2 * math.pi * float(view.radius[0] / view.cap[0])
    if not recipe.whole:
        length = min(length, 1.25 * width / float(view.cap[0]))
    length = min(length, 700.0)
    sheet = _sheet(rng, recipe, fonts, length)
    truth = ""
    if recipe.part != "none":
        truth = _add_size(rng, sheet, recipe, fonts, 2 if recipe.whole else 1)
    masks, _ = stack_sheets([sheet])
    bank = bank or NoiseBank(HELD_OUT_BANK, device, per_kind=4)
    dice = Dice(seed, 1, device)
    on = to_device(view, device)
    kind = torch.full((1, 1, 1), recipe.kind, device=device)
    picture, face, _ = render_scene(
        masks.to(device),
        on,
        recipe.size,
        kind,
        bank,
        dice,
        backgrounds,
        1,
        recipe.hard,
        recipe.softness,
        0.0 if recipe.whole else 0.3,
    )
    grey = picture[0].cpu().numpy()
    polygon, cap = _outline(view, sheet)
    if recipe.name == "magnifier":
        grey, polygon = _magnify(grey, polygon, rng)
    return Shot(_colour(grey, face[0].cpu().numpy(), rng), truth, recipe.part, polygon, cap)


def _aim(recipe: Recipe, view: geometry.View, rng: np.random.Generator, height: int, width: int) -> None:
    """Point the camera: at the whole wheel, or at the line itself."""
    if recipe.whole:
        reach = 0.46 * min(height, width) * float(rng.uniform(0.85, 1.15))
        view.radius = torch.tensor([reach * 0.9])
        view.cap = view.radius / float(rng.uniform(60, 95))
        view.centre_x = torch.tensor([(rng.uniform(0.42, 0.58) - 0.5) * width])
        view.centre_y = torch.tensor([(rng.uniform(0.42, 0.58) - 0.5) * height])
        view.axis_x, view.axis_y = torch.tensor([width / 2]), torch.tensor([height / 2])
        view.tilt = view.tilt.clamp(max=0.6)
        return
    spot = torch.tensor([width * rng.uniform(0.4, 0.6)]), torch.tensor([height * rng.uniform(0.35, 0.65)])
    view.axis_x, view.axis_y = torch.tensor([width * 0.5]), torch.tensor([height * 0.5])
    geometry.place(view, spot[0].float(), spot[1].float())


def _outline(view: geometry.View, sheet: Sheet) -> tuple[Floats, float]:
    """Corners of the first size line in the picture, and its capital height there."""
    answers = [item for item in sheet.items if item.kind == "answer"]
    if not answers:
        return np.zeros((0, 2), np.float32), 0.0
    item = answers[0]
    s = torch.tensor([[item.start, item.end, item.end, item.start]])
    r = torch.tensor([[item.middle - 0.5, item.middle - 0.5, item.middle + 0.5, item.middle + 0.5]])
    x, y = geometry.from_plane(view, *geometry.from_sheet(view, s, r))
    corners = torch.stack([x[0], y[0]], -1).numpy().astype(np.float32)
    return corners, float(np.hypot(*(corners[0] - corners[3])))


def _magnify(grey: Floats, polygon: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """A lens over the line: barrel distortion inside a bright rim, blur and dark outside."""
    height, width = grey.shape
    centre = polygon.mean(0) if len(polygon) else np.array([width / 2, height / 2])
    radius = float(rng.uniform(0.33, 0.48)) * min(height, width)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    dx, dy = x - centre[0], y - centre[1]
    reach = np.sqrt(dx**2 + dy**2) / radius
    bend = 1 + float(rng.uniform(0.05, 0.22)) * reach**2
    inside = cv2.remap(grey, centre[0] + dx * bend, centre[1] + dy * bend, cv2.INTER_LINEAR,
                       borderMode=cv2.BORDER_REFLECT)
    small = cv2.GaussianBlur(cv2.resize(grey, None, fx=0.5, fy=0.5), (0, 0), 4)
    outside = cv2.resize(small, (width, height)) * 0.8
    edge = 1 / (1 + np.exp((reach - 1) * 120))
    ring = np.exp(-(((reach - 1.02) / 0.02) ** 2)) * float(rng.uniform(-0.3, 0.5))
    return np.clip(outside * (1 - edge) + inside * edge + ring, 0, 1), polygon


def _colour(grey: Floats, face: Floats, rng: np.random.Generator) -> Pixels:
    """Tint: rubber nearly grey, the world behind it warmer or colder."""
    face_tint = 1 + rng.uniform(-0.05, 0.05, 3)
    world = 1 + rng.uniform(-0.18, 0.18, 3)
    mix = face[..., None] * face_tint + (1 - face[..., None]) * world
    return np.asarray(np.clip(grey[..., None] * mix * 255, 0, 255), np.uint8)
