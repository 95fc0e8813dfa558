"""Clips of a phone that sweeps along a marking, with their truth: `film` draws one.

The part's surface is made once, in sheet coordinates, and lit anew every few frames; each frame is
then one look-up through the moving camera. Fonts, grounds and textures are the held-out ones
unless others are given.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor

from reader.records import Floats, Pixels
from reader.train.render import geometry
from reader.train.render.handheld import Path as HandPath
from reader.train.render.handheld import draw_path
from reader.train.render.kinds import RECIPES, Recipe
from reader.train.render.noise import NoiseBank
from reader.train.render.photos import Line, add_size, draw_sheet_around, draw_size
from reader.train.render.relight import Lit, light, settle
from reader.train.render.shade import Dice, Layers, Surface, build, draw_wear
from reader.train.render.sheet import UNIT, Sheet
from reader.train.render.viewpoint import draw_view

SIZE = (1080, 1920)
LIGHT_EVERY = 3  # frames between two settings of the light; between them it fades over
COARSE = 12  # picture pixels between two points whose place on the sheet is worked out
MOST_COLUMNS = 5200  # of the drawn surface
BESIDE = 5.0  # caps of tread and rim drawn beside the sheet
LAMP_ALONG, LAMP_ACROSS = 0.75, 1.5  # how a mirrored lamp goes with the camera
COVERED = 1.0  # times the surface's mean light: where the lamp adds as much, letters are lost

KINDS = {
    "moulded": "moulded", "worn": "worn", "dirty": "dirty", "tiny": "tiny", "glare": "glare",
    "stamped": "stamped", "nothing": "nothing",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Clip:
    """What is filmed: the size text shown ('' without one), the part, frames a second.

    `free` is the share of the size line's length that the lamp's reflection leaves in some frame.
    """

    truth: str
    part: str
    fps: float
    cap: float  # capital height of the size line in the middle frame, pixels
    frames: Iterator[Pixels]  # grey, H x W
    free: float = 1.0


@dataclass(frozen=True, eq=False)
class Stage:
    """Everything that does not move, and the camera's first view."""

    recipe: Recipe
    sheet: Sheet
    lit: Lit
    per_cap: float  # surface pixels a cap
    view: geometry.View
    behind: Pixels
    reach: tuple[float, float]  # half length and half breadth of the drawn surface, in caps
    spokes: tuple[tuple[float, float, float], ...]  # place, width in caps, tone
    smear: tuple[float, float, float, float] | None  # a lamp's reflection: place, sizes


def film(
    kind: str,
    seed: int,
    fonts: list[Path],
    backgrounds: Tensor,
    bank: NoiseBank,
    device: str = "cpu",
    seconds: float = 3.0,
    fps: float = 30.0,
    text: str = "",
    size: tuple[int, int] = SIZE,
) -> Clip:
    """Draw one clip.

    Args:
        kind: key of KINDS.
        seed: everything follows from it, but the text if given.
        fonts: font files for all texts.
        backgrounds: N x S x S grey pictures 0..1.
        bank: textures, on `device`.
        device: where torch renders.
        seconds: how long.
        fps: frames a second.
        text: the size line; a random one by default.
        size: height and width of the frames.
    """
    rng = np.random.default_rng((seed, 5))
    recipe = replace(RECIPES[KINDS[kind]], size=size, whole=False)
    line = draw_size(np.random.default_rng((seed, 77)), recipe, fonts, text)
    stage = _set(recipe, seed, rng, line, fonts, backgrounds, bank, device)
    length = line.mask.shape[1] / UNIT
    path = draw_path(rng, max(2, round(seconds * fps)), fps, length, size[1])
    shown = "" if recipe.part == "none" else line.text
    cap = float(stage.view.cap[0])
    frames = _frames(stage, path, rng, kind, device)
    return Clip(shown, recipe.part, fps, cap, frames, _free(stage, path, length))


def _free(stage: Stage, path: HandPath, length: float) -> float:
    """Share of a line of that length, in caps, that is not under the lamp in some frame."""
    if stage.smear is None:
        return 1.0
    along = np.linspace(-length / 2, length / 2, 50)[:, None]
    at, side, long, wide = stage.smear
    x = along - at - LAMP_ALONG * path.along[None]
    y = -side - LAMP_ACROSS * path.across[None]
    lamp = np.exp(-((x / long) ** 2) - (y / wide) ** 2) * _brightness(stage)
    return float((lamp.min(1) < COVERED).mean())


def _brightness(stage: Stage) -> float:
    """Of the lamp's reflection, in times the surface's mean."""
    return 6 / (0.25 + float(stage.recipe.hard))


def _set(
    recipe: Recipe, seed: int, rng: np.random.Generator, line: Line, fonts: list[Path],
    backgrounds: Tensor, bank: NoiseBank, device: str,
) -> Stage:  # fmt: skip
    height, width = recipe.size
    view = draw_view(recipe, seed)
    view.tilt = view.tilt.clamp(max=0.6)
    upright = 0.0 if bool(torch.isinf(view.radius[0])) else -math.pi / 2
    lean = float(rng.normal(0, 0.3)) + (math.pi if rng.random() < 0.3 else 0.0)
    view.angle = torch.tensor([upright + math.pi * line.flip + lean]).float()
    view.axis_x, view.axis_y = torch.tensor([width * 0.5]), torch.tensor([height * 0.5])
    wide = line.mask.shape[1] / UNIT
    # most people stand so that about the whole line is seen; some go nearer and sweep along it
    most = width * float(rng.uniform(0.7, 0.9) if rng.random() < 0.75 else rng.uniform(0.9, 1.6))
    shrink = min(1.0, most / (wide * float(view.cap[0])))
    view.cap, view.radius = view.cap * shrink, view.radius * shrink
    cap = float(view.cap[0])
    around = 2 * math.pi * float(view.radius[0]) / cap
    length = min(around, 1.3 * wide + 1.4 * math.hypot(height, width) / cap, 260.0)
    sheet = draw_sheet_around(rng, recipe, fonts, length)
    if recipe.part != "none":
        add_size(rng, sheet, recipe, line, 1)
    place = next((item for item in sheet.items if item.kind == "answer"), None)
    per_cap = min(1.15 * cap, MOST_COLUMNS / length)
    lit, reach = _surface(sheet, recipe, seed, per_cap, bank, device)
    if place is not None:  # the camera looks at the line
        view.centre_y = view.centre_y * 1.0
    behind = _behind(rng, backgrounds)
    spokes: tuple[tuple[float, float, float], ...] = ()
    if rng.random() < 0.2:
        spokes = tuple(
            (float(rng.uniform(-1, 1)) * wide, float(rng.uniform(0.3, 1.2)),
             float(rng.uniform(0.1, 0.9)))
            for _ in range(int(rng.integers(1, 4)))
        )  # fmt: skip
    smear = None
    if recipe.name == "glare":
        smear = (
            float(rng.uniform(-0.4, 0.4)) * wide, float(rng.uniform(-1, 1)),
            float(rng.uniform(2, 6)), float(rng.uniform(0.8, 2.0)),
        )  # fmt: skip
    return Stage(recipe, sheet, lit, per_cap, view, behind, reach, spokes, smear)


def _surface(
    sheet: Sheet, recipe: Recipe, seed: int, per_cap: float, bank: NoiseBank, device: str
) -> tuple[Lit, tuple[float, float]]:
    """The sheet as a surface with some tread and rim beside it, ready for light."""
    length, breadth = sheet.size
    half = length / 2, breadth / 2 + BESIDE
    rows, columns = round(2 * half[1] * per_cap), round(2 * half[0] * per_cap)
    masks = []
    for mask in (sheet.relief, sheet.ink, sheet.panel):
        scale = per_cap / UNIT
        kind = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
        inner = cv2.resize(mask, (columns, max(1, round(breadth * per_cap))), interpolation=kind)
        top = (rows - inner.shape[0]) // 2
        whole = np.zeros((rows, columns), np.float32)
        whole[top : top + inner.shape[0]] = inner.astype(np.float32) / 255
        masks.append(torch.from_numpy(whole)[None].to(device))
    y = (torch.arange(rows, device=device) + 0.5) / per_cap - half[1]
    x = (torch.arange(columns, device=device) + 0.5) / per_cap - half[0]
    r, s = torch.meshgrid(y, x, indexing="ij")
    s, r = s[None], r[None]
    dice = Dice(seed, 1, device)
    layers = Layers(masks[0], masks[1], masks[2], s, r, per_cap)
    kinds = torch.full((1, 1, 1), recipe.kind, device=device)
    surface = build(layers, kinds, draw_wear(dice, recipe.hard), bank, dice)
    _beside(surface, s, r, breadth / 2, per_cap, dice)
    return settle(surface, s, r, per_cap, bank, dice), half


def _beside(
    surface: Surface, s: Tensor, r: Tensor, half: float, per_cap: float, dice: Dice
) -> None:
    """Blocks of tread outside, a plain bright rim inside."""
    out, inside = torch.sigmoid((-half - r) * 12), torch.sigmoid((r - half) * 12)
    blocks = torch.sin(s * dice.between(0.6, 5)) * torch.sin(r * dice.between(1, 6) + s)
    surface.height += out * torch.tanh(blocks * 4) * 0.15 * per_cap
    surface.albedo *= 1 - out * dice.between(0.2, 0.7)
    surface.albedo = torch.lerp(surface.albedo, dice.between(0.05, 0.6) + 0 * s, inside)


def _behind(rng: np.random.Generator, backgrounds: Tensor) -> Pixels:
    picture = backgrounds[int(rng.integers(len(backgrounds)))].cpu().numpy()
    return np.asarray(np.clip(picture * 255, 0, 255), np.uint8)


def _frames(
    stage: Stage, path: HandPath, rng: np.random.Generator, kind: str, device: str
) -> Iterator[Pixels]:
    from reader.train.render.filming import Camera

    camera = Camera(stage, path, rng, magnified=kind == "stamped")
    count = len(path.along)
    before = after = None
    for number in range(count):
        step = number % LIGHT_EVERY
        if step == 0:
            before = after if after is not None else radiance(stage, path, number)
            ahead = min(count - 1, number + LIGHT_EVERY)
            after = radiance(stage, path, ahead)
        assert before is not None and after is not None
        mix = step / LIGHT_EVERY
        shown = before if mix == 0 else cv2.addWeighted(before, 1 - mix, after, mix, 0)
        yield camera.take(number, np.asarray(shown, np.float32))


def radiance(stage: Stage, path: HandPath, number: int) -> Floats:
    """What the surface sends to the camera at one moment; linear."""
    high = 1.2 * stage.recipe.size[1] / float(stage.view.cap[0])
    place = next((item for item in stage.sheet.items if item.kind == "answer"), None)
    middle = (place.middle if place else 0.0, (place.start + place.end) / 2 if place else 0.0)
    eye = (
        float(path.along[number]) + middle[1] + 0.5 * high * float(path.turn[number]),
        float(path.across[number]) + middle[0] + 0.4 * high,
        high,
    )
    shown = light(stage.lit, eye, float(path.torch[number]))
    if stage.smear is not None:  # a mirrored lamp wanders with the camera
        at, side, long, wide = stage.smear
        x = stage.lit.s - middle[1] - at - LAMP_ALONG * float(path.along[number])
        y = stage.lit.r - middle[0] - side - LAMP_ACROSS * float(path.across[number])
        bright = shown.mean() * _brightness(stage)
        shown = shown + bright * torch.exp(-((x / long) ** 2) - (y / wide) ** 2)
    return np.asarray(shown[0].cpu().numpy(), np.float32)
