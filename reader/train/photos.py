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
from reader.train.clarity import clarity
from reader.train.glyphs import draw_mask, draw_setting
from reader.train.noise import NoiseBank
from reader.train.render import Dice
from reader.train.scenes import render_scene, stack_sheets, to_device
from reader.train.sheet import UNIT, Item, Look, Sheet, draw_sheet
from reader.train.texts import draw_line

HELD_OUT_BANK = 424_242
MARGIN = 10  # sheet pixels around the letters of the size line


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
    """One photograph: RGB pixels, the size text shown (or ''), where it lies, how clear it is."""

    pixels: Pixels
    truth: str
    part: str
    polygon: Floats  # 4 x 2, around the size line; empty without one
    cap: float  # capital height of the size line in the picture
    clarity: float = 0.0  # see clarity.clarity; 0 without a size line


def _sheet(rng: np.random.Generator, recipe: Recipe, fonts: list[Path], length: float) -> Sheet:
    """A sheet whose size line is known: other texts around, one size line (or two) on it."""

    def write(inner: np.random.Generator, kind: str) -> tuple[str, str]:
        return draw_line(inner, kind, held_out=True)

    breadth = float(rng.uniform(2.6, 5.0) if recipe.part == "rim" else rng.uniform(4.5, 10.0))
    density = 0.0 if recipe.name == "nothing" else float(rng.uniform(0.3, 0.6))
    look = Look(recipe.kind, others=recipe.others, size_share=0.0, density=density)
    return draw_sheet(rng, length, breadth, look, fonts, write)


@dataclass(frozen=True)
class Line:
    """A size line to be set: its text, the drawn letters, whether it stands upside down."""

    text: str
    mask: Pixels
    flip: bool


def _draw_size(rng: np.random.Generator, recipe: Recipe, fonts: list[Path], text: str) -> Line:
    wanted = "rim_size" if recipe.part == "rim" else "tyre_size"
    drawn, _ = draw_line(rng, wanted, held_out=True)
    text = text or drawn
    setting = replace(draw_setting(rng, fonts), outline=0.0)
    return Line(text, draw_mask(text, setting, UNIT, MARGIN), bool(rng.random() < 0.35))


def _add_size(rng: np.random.Generator, sheet: Sheet, recipe: Recipe, line: Line, n: int) -> Pixels:
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
) -> Shot:
    """Render one photograph.

    Args:
        recipe: what to photograph.
        seed: everything but the size line follows from it.
        fonts: font files for all texts.
        backgrounds: N x S x S grey pictures 0..1.
        device: where torch renders.
        bank: textures; the held-out ones by default.
        text: the size line; a random one by default.
        line_seed: the size line and its lettering, so that two photos can show one part.
    """
    rng = np.random.default_rng(seed)
    line_rng = np.random.default_rng((line_seed if line_seed is not None else seed, 77))
    line = _draw_size(line_rng, recipe, fonts, text)
    view = _draw_view(recipe, seed)
    height, width = recipe.size
    _aim(recipe, view, rng, line.flip)
    length = 2 * math.pi * float(view.radius[0] / view.cap[0])
    if not recipe.whole:
        length = min(length, max(1.25 * width / float(view.cap[0]), 3 * line.mask.shape[1] / UNIT))
    sheet = _sheet(rng, recipe, fonts, min(length, 700.0))
    letters = None
    if recipe.part != "none":
        letters = _add_size(rng, sheet, recipe, line, 2 if recipe.whole else 1)
    if letters is not None and not recipe.whole:
        _step_back(recipe, view, sheet)
    masks, _ = stack_sheets([sheet])
    bank = bank or NoiseBank(HELD_OUT_BANK, device, per_kind=4)
    picture, face, _ = render_scene(
        masks.to(device),
        to_device(view, device),
        (height, width),
        torch.full((1, 1, 1), recipe.kind, device=device),
        bank,
        Dice(seed, 1, device),
        backgrounds,
        1,
        recipe.hard,
        recipe.softness,
        0.0 if recipe.whole else 0.3,
    )
    grey = picture[0].cpu().numpy()
    polygon, cap = _outline(view, sheet)
    if recipe.name == "glare" and len(polygon):
        grey = _glare(grey, polygon, cap, rng)
    clear = clarity(grey, view, sheet, letters) if letters is not None else 0.0
    if recipe.name == "magnifier" and len(polygon):
        grey, polygon = _magnify(grey, polygon, rng)
    shown = "" if letters is None else line.text
    return Shot(_colour(grey, face[0].cpu().numpy(), rng), shown, recipe.part, polygon, cap, clear)


def _draw_view(recipe: Recipe, seed: int) -> geometry.View:
    return geometry.draw_view(
        torch.Generator().manual_seed(seed),
        1,
        recipe.size,
        recipe.caps,
        recipe.flat,
        radius_caps=(60.0, 110.0) if recipe.part == "tyre" else (55.0, 130.0),
        steepest=0.7,
    )


def _aim(recipe: Recipe, view: geometry.View, rng: np.random.Generator, flip: bool) -> None:
    """Point the camera: at the whole wheel, or at the line itself, more or less upright."""
    height, width = recipe.size
    view.axis_x, view.axis_y = torch.tensor([width * 0.5]), torch.tensor([height * 0.5])
    if recipe.whole:
        reach = 0.46 * min(height, width) * float(rng.uniform(0.85, 1.05))
        view.radius = torch.tensor([reach * 0.9])
        view.cap = view.radius / float(rng.uniform(60, 95))
        view.centre_x = torch.tensor([(rng.uniform(0.46, 0.54) - 0.5) * width])
        view.centre_y = torch.tensor([(rng.uniform(0.48, 0.52) - 0.5) * height])
        view.tilt = view.tilt.clamp(max=0.5)
        return
    # people turn the camera to what they photograph, but not always
    if rng.random() < 0.8:
        upright = 0.0 if bool(torch.isinf(view.radius[0])) else -math.pi / 2
        view.angle = torch.tensor([upright + math.pi * flip + float(rng.normal(0, 0.4))])
    spot = width * rng.uniform(0.44, 0.56), height * rng.uniform(0.4, 0.6)
    geometry.place(view, torch.tensor([spot[0]]).float(), torch.tensor([spot[1]]).float())


def _step_back(recipe: Recipe, view: geometry.View, sheet: Sheet) -> None:
    """Move away until the whole size line is in the frame."""
    height, width = recipe.size
    room = 0.62 if recipe.name == "magnifier" else 0.88
    for _ in range(14):
        polygon, _ = _outline(view, sheet, 9)
        low, high = polygon.min(0), polygon.max(0)
        if np.all(high - low < np.array([width, height]) * room):
            break
        view.cap, view.radius = view.cap * 0.9, view.radius * 0.9
        geometry.place(view, torch.tensor([width * 0.5]), torch.tensor([height * 0.5]))
    polygon, _ = _outline(view, sheet, 9)
    middle = (polygon.min(0) + polygon.max(0)) / 2
    inside = np.clip(middle, *(np.array([width, height]) * part for part in (0.45, 0.55)))
    shift = torch.tensor([[middle[0], inside[0]]]), torch.tensor([[middle[1], inside[1]]])
    u, v = geometry.to_plane(view, shift[0].float(), shift[1].float())
    view.centre_x = view.centre_x + u[:, 1] - u[:, 0]
    view.centre_y = view.centre_y + v[:, 1] - v[:, 0]


def _outline(view: geometry.View, sheet: Sheet, steps: int = 2) -> tuple[Floats, float]:
    """Outline of the first size line in the picture (2 * steps points), and its capital height."""
    answers = [item for item in sheet.items if item.kind == "answer"]
    if not answers:
        return np.zeros((0, 2), np.float32), 0.0
    item = answers[0]
    along = np.linspace(item.start, item.end, steps)
    s = torch.tensor(np.r_[along, along[::-1]], dtype=torch.float32)[None]
    side = 0.5 if item.end > item.start else -0.5
    across = np.repeat([item.middle - side, item.middle + side], steps)
    r = torch.tensor(across, dtype=torch.float32)[None]
    x, y = geometry.from_plane(view, *geometry.from_sheet(view, s, r))
    corners = torch.stack([x[0], y[0]], -1).numpy().astype(np.float32)
    return corners, float(np.hypot(*(corners[0] - corners[-1])))


def _glare(grey: Floats, polygon: Floats, cap: float, rng: np.random.Generator) -> Floats:
    """A lamp mirrored in the rubber: a bright smear across a part of the line."""
    height, width = grey.shape
    start, end = polygon[0], polygon[1]
    spot = start + (end - start) * float(rng.uniform(0.15, 0.85)) + rng.uniform(-1, 1, 2) * cap
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    turn = float(rng.uniform(0, math.pi))
    along = (x - spot[0]) * math.cos(turn) + (y - spot[1]) * math.sin(turn)
    across = -(x - spot[0]) * math.sin(turn) + (y - spot[1]) * math.cos(turn)
    long, wide = cap * float(rng.uniform(3, 7)), cap * float(rng.uniform(0.8, 1.8))
    smear = np.exp(-((along / long) ** 2) - (across / wide) ** 2)
    bloom = np.exp(-((along / long / 2) ** 2) - (across / wide / 4) ** 2)
    return np.clip(grey + float(rng.uniform(0.35, 0.7)) * smear + 0.2 * bloom, 0, 1)


def _magnify(grey: Floats, polygon: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """A lens over the line: larger inside a rim, bent at its edge, blurred and dark outside."""
    height, width = grey.shape
    centre = (polygon.min(0) + polygon.max(0)) / 2
    radius = float(rng.uniform(0.42, 0.49)) * min(height, width)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    dx, dy = x - np.float32(centre[0]), y - np.float32(centre[1])
    reach = np.sqrt(dx**2 + dy**2) / radius
    # the line's ends stay inside the lens
    zoom = float(np.clip(0.8 * radius / np.abs(polygon - centre).max(), 1.0, 1.9))
    bend = (1 + float(rng.uniform(0.05, 0.2)) * reach**2) / zoom
    inside = cv2.remap(
        grey,
        centre[0] + dx * bend,
        centre[1] + dy * bend,
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    )
    small = cv2.GaussianBlur(cv2.resize(grey, None, fx=0.5, fy=0.5), (0, 0), 4)
    outside = cv2.resize(small, (width, height)) * 0.8
    edge = 1 / (1 + np.exp(np.clip((reach - 1) * 120, -40, 40)))
    ring = np.exp(-(((reach - 1.02) / 0.02) ** 2)) * float(rng.uniform(-0.3, 0.5))
    bent = (centre + (polygon - centre) * zoom).astype(np.float32)  # but for the bend
    return np.clip(outside * (1 - edge) + inside * edge + ring, 0, 1), bent


def _colour(grey: Floats, face: Floats, rng: np.random.Generator) -> Pixels:
    """Tint: rubber nearly grey; the world behind it warmer or colder, its shadows otherwise."""

    def tint(most: float) -> Floats:
        warm, green = rng.uniform(-most, most), rng.uniform(-most, most) / 3
        return np.array([1 + warm, 1 + green, 1 - warm], np.float32)

    light = grey[..., None]
    world = tint(0.1) * light + tint(0.2) * (1 - light)
    mix = face[..., None] * tint(0.03) + (1 - face[..., None]) * world
    return np.asarray(np.clip(light * mix * 255, 0, 255), np.uint8)
