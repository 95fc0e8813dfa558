"""Whole pictures of tyres and rims: sheets wrapped on wheels, before backgrounds, behind things.

The same code draws small training pictures by the thousand on a GPU and 12-megapixel photographs
one by one on a CPU.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import torch
import torch.nn.functional as F
from torch import Tensor

from reader.train.render import geometry
from reader.train.render.camera import photograph
from reader.train.render.geometry import View
from reader.train.render.grounds import ground
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice, Layers, build, draw_wear, shade
from reader.train.render.sheet import UNIT, Sheet


@dataclass
class Truth:
    """Maps at a quarter of the picture's resolution, B x h x w each."""

    text: Tensor  # 1 on the core of a text line
    ignore: Tensor  # 1 where nothing should be learned
    along_x: Tensor  # unit vector of the reading direction
    along_y: Tensor
    height: Tensor  # natural logarithm of the capital height in pixels
    surface: Tensor  # 1 on the tyre's or rim's face that may carry text


def stack_sheets(sheets: list[Sheet]) -> tuple[Tensor, Tensor]:
    """Masks (B x 3 x R x C, 0..255 uint8) and label layers (B x 3 x R/3 x C/3 float).

    Label layers: core of a line (1) or edge of it (0.5), direction sign, capital height in caps.
    """
    rows = max(s.relief.shape[0] for s in sheets)
    columns = max(s.relief.shape[1] for s in sheets)
    rows, columns = -(-rows // 3) * 3, -(-columns // 3) * 3
    masks = np.zeros((len(sheets), 3, rows, columns), np.uint8)
    labels = np.zeros((len(sheets), 3, rows // 3, columns // 3), np.float32)
    labels[:, 2] = 1.0
    for k, sheet in enumerate(sheets):
        height, width = sheet.relief.shape
        y, x = (rows - height) // 2, (columns - width) // 2
        for layer, mask in enumerate((sheet.relief, sheet.ink, sheet.panel)):
            masks[k, layer, y : y + height, x : x + width] = mask
        _label(labels[k], sheet, rows / 2, columns / 2)
    return torch.from_numpy(masks), torch.from_numpy(labels)


def _label(layers: np.ndarray, sheet: Sheet, middle_row: float, middle_column: float) -> None:
    for item in sheet.items:
        left, right = sorted((item.start, item.end))
        x0, x1 = (round((v * UNIT + middle_column) / 3) for v in (left, right))
        for reach, value in ((0.66, 0.5), (0.40, 1.0)):
            inset = 0.12 * item.cap * UNIT / 3 if value == 1.0 else 0
            y0 = round(((item.middle - reach * item.cap) * UNIT + middle_row) / 3)
            y1 = round(((item.middle + reach * item.cap) * UNIT + middle_row) / 3)
            window = np.s_[max(0, y0) : y1 + 1, max(0, round(x0 + inset)) : round(x1 - inset) + 1]
            layers[0][window] = value
            layers[1][window] = 1.0 if item.end > item.start else -1.0
            layers[2][window] = item.cap


def _look_up(layers: Tensor, s: Tensor, r: Tensor, unit: float, mode: str = "bilinear") -> Tensor:
    """Sample sheet layers (B x C x R x C') at sheet coordinates in caps."""
    rows, columns = layers.shape[2:]
    grid = torch.stack([s * unit * 2 / columns, r * unit * 2 / rows], -1)
    return F.grid_sample(layers, grid, mode=mode, align_corners=False)


@dataclass
class Frame:
    """Geometry of one render: sheet coordinates of each render pixel and derived fields."""

    s: Tensor
    r: Tensor
    cap_px: float
    half_s: float
    half_r: float


def _grid(view: View, size: tuple[int, int], step: float, device: str) -> tuple[Tensor, Tensor]:
    """Sheet coordinates at pixel centres of a grid with `step` picture pixels."""
    rows, columns = (round(v / step) for v in size)
    y = (torch.arange(rows, device=device) + 0.5) * step - 0.5
    x = (torch.arange(columns, device=device) + 0.5) * step - 0.5
    batch = view.cap.shape[0]
    yy, xx = torch.meshgrid(y, x, indexing="ij")
    u, v = geometry.to_plane(view, xx.expand(batch, -1, -1), yy.expand(batch, -1, -1))
    return geometry.to_sheet(view, u, v)


@dataclass(frozen=True)
class Life:
    """What stays of a part from photo to photo: its model's surface, and its own wear."""

    model: Dice  # mould, ink, lacquer
    wear: Dice  # how hard this piece's life was
    bank: NoiseBank  # of this piece alone, so that no two share a scratch


def to_device(view: View, device: str) -> View:
    """The same view with its tensors on a device."""
    return View(**{name: value.to(device) for name, value in vars(view).items()})


def render_scene(
    masks: Tensor,
    view: View,
    size: tuple[int, int],
    kind: Tensor,
    bank: NoiseBank,
    dice: Dice,
    backgrounds: Tensor,
    shrink: int = 1,
    hard: float = 1.0,
    softness: float = 1.0,
    filled: float = 0.35,
    rough: float = 0.0,
    life: Life | None = None,
) -> tuple[Tensor, Tensor, Tensor]:
    """Render pictures.

    Args:
        masks: B x 3 x R x C sheet masks, uint8, on the device.
        view: cameras, on the device.
        size: height, width of the finished picture.
        kind: B x 1 x 1 indices into render.KINDS.
        bank: textures.
        dice: randomness.
        backgrounds: N x S x S grey pictures 0..1 to stand behind and in front.
        shrink: render at this multiple of the picture's resolution.
        hard: how hard life was, see draw_wear.
        softness: scale of defocus and shake.
        filled: share of pictures that show nothing but the sheet's surface.
        rough: share of pictures before a sharp ground (see grounds) instead of a photograph.
        life: of a part that is photographed more than once; else all follows from `dice`.
    Returns:
        pictures B x H x W in 0..1; share of surface B x h x w at render size; cover of occluders.
    """
    device = str(masks.device)
    s, r = _grid(view, size, 1 / shrink, device)
    rows, columns = masks.shape[2:]
    cap_px = float(view.cap.mean()) * shrink
    # minified sheets alias: blur them first to the resolution that they will be seen at
    source = masks.float() / 255
    if cap_px < UNIT * 0.75:
        factor = max(cap_px / UNIT, 0.2)
        source = F.interpolate(source, scale_factor=factor, mode="area")
    layers3 = _look_up(source, s, r, UNIT * source.shape[3] / columns)
    half_r = rows / UNIT / 2
    layers = Layers(layers3[:, 0], layers3[:, 1], layers3[:, 2], s, r, cap_px)
    # local foreshortening is in s and r already; heights stay isotropic, which is near enough
    if life is None:
        surface = build(layers, kind, draw_wear(dice, hard), bank, dice)
    else:
        wear = draw_wear(life.wear, hard)
        surface = build(layers, kind, wear, life.bank, life.model, mould=bank)
    radiance = shade(surface, s, r, cap_px, bank, dice, _across(s, cap_px))
    face = _face(s, r, half_r, dice, filled)
    radiance = _surround(radiance, face, s, r, half_r, view, backgrounds, bank, dice, rough)
    cover, radiance = _occlude(radiance, s, r, backgrounds, bank, dice)
    return photograph(radiance, dice, shrink, softness, face), face, cover


def _across(field: Tensor, cap_px: float) -> tuple[Tensor, Tensor]:
    """Places in the picture in caps from its middle, at most 30 of them to either side."""
    rows, columns = field.shape[1:]
    reach = min(max(rows, columns) / cap_px / 2, 30.0)
    step = 2 * reach / max(rows, columns)
    y = (torch.arange(rows, device=field.device) - rows / 2) * step
    x = (torch.arange(columns, device=field.device) - columns / 2) * step
    yy, xx = torch.meshgrid(y, x, indexing="ij")
    return xx.expand_as(field), yy.expand_as(field)


def _face(s: Tensor, r: Tensor, half_r: float, dice: Dice, filled: float) -> Tensor:
    """Share of the sheet's own surface at each pixel."""
    edge = dice.between(0.05, 0.4)
    inside = torch.sigmoid((half_r - r.abs()) / edge * 4)
    return torch.maximum(inside, dice.chance(filled))


def _surround(
    radiance: Tensor,
    face: Tensor,
    s: Tensor,
    r: Tensor,
    half_r: float,
    view: View,
    backgrounds: Tensor,
    bank: NoiseBank,
    dice: Dice,
    rough: float,
) -> Tensor:
    """Tread outside, rim and spokes inside, then the world behind."""
    which = dice.number(64)
    height, width = radiance.shape[1:]
    level = (radiance * face).flatten(1).sum(1) / (face.flatten(1).sum(1) + 1)
    level = level[:, None, None] + 1e-3
    behind = _pictures(backgrounds, (height, width), dice) * level * dice.log_between(0.5, 12)
    if rough:  # throws no dice where it is not asked for: the frozen sets stay what they are
        floor = ground(bank, (height, width), dice) * level * dice.log_between(0.3, 12)
        behind = torch.lerp(behind, floor, dice.chance(rough))
    noise = bank.sample("fractal", which, s * 30, r * 30)
    blocks = torch.sin(s * dice.between(0.6, 5)) * torch.sin(r * dice.between(1, 6) + s)
    tread = level * dice.between(0.2, 0.9) * (1 + 0.3 * noise + 0.5 * torch.tanh(blocks * 4))
    brushed = bank.sample("brushed", which, s * 60, r * 60)
    rim = level * dice.log_between(0.3, 8) * (1 + 0.08 * brushed + 0.25 * torch.sin(r * 1.3))
    deep = dice.between(1, 6)
    ring = ((r > half_r) & (r < half_r + deep)).float()
    edge = ((r < -half_r) & (r > -half_r - dice.between(0.5, 6))).float()
    spokes = torch.sin(s * dice.between(0.1, 0.6) + r * dice.between(-0.05, 0.05))
    spokes = torch.sigmoid((spokes - 0.985) * 400) * (r > half_r + deep) * dice.chance(0.7)
    behind = torch.lerp(behind, level * 5 + 0 * behind, spokes)
    behind = torch.lerp(behind, rim.clamp(min=0), ring * dice.chance(0.85))
    behind = torch.lerp(behind, tread.clamp(min=0), edge * dice.chance(0.9))
    return torch.lerp(behind, radiance, face)


def _pictures(backgrounds: Tensor, size: tuple[int, int], dice: Dice) -> Tensor:
    """Random windows of random backgrounds, linear light, mean 1."""
    batch = dice.batch
    which = dice.number(backgrounds.shape[0])
    zoom = dice.between(0.25, 1.0)[:, :, 0]
    turn = dice.between(-0.5, 0.5)[:, :, 0]
    matrix = torch.zeros(batch, 2, 3, device=backgrounds.device)
    matrix[:, 0, 0] = (zoom * torch.cos(turn))[:, 0]
    matrix[:, 0, 1] = (-zoom * torch.sin(turn))[:, 0]
    matrix[:, 1, 0] = (zoom * torch.sin(turn))[:, 0]
    matrix[:, 1, 1] = (zoom * torch.cos(turn))[:, 0]
    matrix[:, :, 2] = (torch.stack([dice.between(-1, 1), dice.between(-1, 1)], 1)[:, :, 0, 0]) * (
        1 - zoom
    )
    grid = F.affine_grid(matrix, [batch, 1, *size], align_corners=False)
    picture = F.grid_sample(
        backgrounds[which][:, None], grid, padding_mode="reflection", align_corners=False
    )[:, 0]
    linear = picture.clamp(0, 1) ** 2.2
    return linear / (linear.mean((1, 2), keepdim=True) + 0.02)


def _occlude(
    radiance: Tensor, s: Tensor, r: Tensor, backgrounds: Tensor, bank: NoiseBank, dice: Dice
) -> tuple[Tensor, Tensor]:
    """Bars and blobs in front: spokes, brakes, straps, leaves, fingers."""
    height, width = radiance.shape[1:]
    ys = torch.linspace(-1, 1, height, device=radiance.device)[None, :, None]
    xs = torch.linspace(-1, 1, width, device=radiance.device)[None, None, :]
    level = radiance.mean((1, 2), keepdim=True)
    cover = torch.zeros_like(radiance)
    for _ in range(3):
        angle = dice.between(0, math.pi)
        across = xs * torch.cos(angle) + ys * torch.sin(angle) - dice.between(-0.9, 0.9)
        wide = dice.log_between(0.006, 0.05)
        bar = torch.sigmoid((wide - across.abs()) * 300) * dice.chance(0.12)
        tone = dice.log_between(0.1, 8) * (1 + 0.4 * torch.sin(across / wide))
        radiance = torch.lerp(radiance, level * tone, bar)
        cover = torch.maximum(cover, bar)
    which = dice.number(64)
    u = xs * 90 + 0 * radiance + dice.between(0, 500)
    blob = bank.sample("cloud", which, u, ys * 90 + 0 * radiance)
    away = torch.sqrt((xs - dice.between(-1, 1)) ** 2 + (ys - dice.between(-1, 1)) ** 2)
    blob = torch.sigmoid((dice.between(0.1, 0.5) - away + 0.1 * blob) * 80) * dice.chance(0.15)
    front = _pictures(backgrounds, (height, width), dice) * level * dice.log_between(0.4, 4)
    return torch.maximum(cover, blob), torch.lerp(radiance, front, blob)


def truth_maps(
    labels: Tensor, view: View, size: tuple[int, int], face: Tensor, cover: Tensor
) -> Truth:
    """Truth at a quarter of the picture's resolution (see Truth)."""
    device = str(labels.device)
    s, r = _grid(view, size, 4.0, device)
    near = _look_up(labels, s, r, UNIT / 3, "nearest")
    core, sign, caps = near[:, 0], near[:, 1], near[:, 2].clamp(min=0.3)

    def slopes(field: Tensor) -> tuple[Tensor, Tensor]:
        dx = F.pad(field[:, :, 2:] - field[:, :, :-2], (1, 1), "replicate") / 8
        dy = F.pad(field[:, 2:, :] - field[:, :-2, :], (0, 0, 1, 1), "replicate") / 8
        return dx, dy

    # s jumps by a full turn behind the wheel: its slope is taken where it is smooth only
    sx, sy = slopes(s)
    rx, ry = slopes(r)
    det = sx * ry - sy * rx
    det = torch.where(det.abs() < 1e-9, torch.full_like(det, 1e-9), det)
    ax, ay = ry / det, -rx / det  # picture pixels a cap along the line
    bx, by = -sy / det, sx / det  # and across
    long = torch.sqrt(ax**2 + ay**2).clamp(min=1e-6)
    # a capital's height in the picture, measured square to the line
    tall = (ax * by - ay * bx).abs() / long * caps
    small = tuple(core.shape[1:])
    quarter = F.interpolate(torch.stack([face, cover], 1), small, mode="area")
    hidden = quarter[:, 1] > 0.4
    text = (core > 0.9).float() * (1 - hidden.float())
    tiny = (tall < 4.5) | (tall > 110)
    ignore = ((core > 0.25) & (core < 0.9)) | ((core > 0.25) & (hidden | tiny))
    return Truth(
        text=text * (1 - tiny.float()),
        ignore=ignore.float(),
        along_x=ax / long * sign,
        along_y=ay / long * sign,
        height=torch.log(tall.clamp(2, 400)),
        surface=(quarter[:, 0] > 0.5).float() * (quarter[:, 1] < 0.5).float(),
    )
