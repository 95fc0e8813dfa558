"""Training strips for the letter recogniser: single lines, rendered, photographed, cut out badly.

Masks are drawn on CPU cores (`draw_line_mask`), everything else happens batched on the device.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from numpy.random import Generator
from torch import Tensor

from reader.ocr.alphabet import fold
from reader.records import Pixels
from reader.train.render.camera import photograph
from reader.train.render.glyphs import draw_mask, draw_setting
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice, Layers, build, draw_wear, shade
from reader.train.render.sheet import Writer

CAP = 40  # mask pixels a capital height
MARGIN = 44  # mask pixels around the line
STRIP = 48  # rows of a strip
CAP_ROWS = 32  # capital height in a well-cut strip: STRIP / 1.5
KIND_SHARES = (0.47, 0.12, 0.12, 0.12, 0.17)
PEEPING = 0.3  # share of lines with a neighbour's edge in their strip
TURNED = 0.08  # share of lines upside down
BLANK = 0.08  # share of lines without letters


@dataclass(frozen=True)
class Cut:
    """How far the finder's heights and places may be off.

    `low` and `high` bound the logarithm of estimated over true height, `lift` the shift across the
    line in capital heights. A share `wild` of the strips is cut within half to double the height.
    """

    low: float = -0.24
    high: float = 0.24
    lift: float = 0.14
    wild: float = 0.0

    @classmethod
    def at(cls, factor: float) -> Cut:
        """Every strip at one factor of its true height."""
        return cls(float(np.log(factor)), float(np.log(factor)))


AS_FOUND = Cut()
WILD = (-0.42, 0.69, 0.24)  # low, high, lift: the tightest clips tops and bottoms


@dataclass
class LineMask:
    """One drawn line before rendering."""

    mask: Pixels  # (CAP + 2 * MARGIN) x width
    truth: str
    kind: int  # index into render.KINDS


def draw_line_mask(
    rng: Generator,
    fonts: list[Path],
    write: Writer,
    widest: float,
    peeping: float = PEEPING,
    blank: float = BLANK,
) -> LineMask:
    """Draw a line no longer than `widest` caps, with neighbours peeping in now and then.

    A share `blank` of the lines bears nothing at all.
    """
    kind = int(rng.choice(5, p=KIND_SHARES))
    rim = kind >= 2 and rng.random() < 0.7
    for _ in range(20):
        share = rng.random()
        wanted = ("rim_size" if rim else "tyre_size") if share < 0.55 else "tyre_other"
        if share > 0.75:
            wanted = str(rng.choice(["random", "random", "decoy", "tube"]))
        text, truth = write(rng, wanted)
        setting = draw_setting(rng, fonts)
        mask = draw_mask(text, setting, CAP, MARGIN)
        if (mask.shape[1] - 2 * MARGIN) / CAP <= widest and mask.any():
            break
    else:
        mask, truth = np.zeros((CAP + 2 * MARGIN, 8 * CAP), np.uint8), ""
    mask = mask.copy()
    if rng.random() < peeping:
        _peep(rng, mask, fonts, write)
    share = rng.random()
    if share < TURNED:  # upside down: must not be read
        mask, truth = np.ascontiguousarray(mask[::-1, ::-1]), ""
    elif share < TURNED + blank:
        mask, truth = np.zeros_like(mask), ""
    return LineMask(mask, fold(truth), kind)


def _peep(rng: Generator, mask: Pixels, fonts: list[Path], write: Writer) -> None:
    """A neighbouring row's edge above or below, or a sliver of the next letter beside."""
    text, _ = write(rng, "tyre_other")
    other = draw_mask(text, draw_setting(rng, fonts), CAP, 4)
    if rng.random() < 0.7:
        gap = int(rng.integers(CAP // 5, CAP))
        rows = MARGIN - gap
        shift = int(rng.integers(0, max(1, mask.shape[1] // 2)))
        if rows <= 4:
            return
        if rng.random() < 0.5:
            part = other[-rows:, : mask.shape[1] - shift]
            window = mask[: part.shape[0], shift : shift + part.shape[1]]
        else:
            part = other[:rows, : mask.shape[1] - shift]
            window = mask[-part.shape[0] :, shift : shift + part.shape[1]]
        np.maximum(window, part, out=window)
        return
    sliver = other[4:-4, 4 : 4 + int(CAP * rng.uniform(0.08, 0.2))]
    window = mask[MARGIN : MARGIN + sliver.shape[0], : sliver.shape[1]]
    np.maximum(window, sliver, out=window)


def render_strips(
    masks: Tensor,
    kind: Tensor,
    bank: NoiseBank,
    dice: Dice,
    hard: float = 1.0,
    cut: Cut = AS_FOUND,
) -> Tensor:
    """Render, photograph and cut out a batch of lines.

    Args:
        masks: B x (CAP + 2 * MARGIN) x W, uint8, lines left-aligned.
        kind: B x 1 x 1 indices into render.KINDS.
        bank: textures.
        dice: randomness.
        hard: wear, see draw_wear.
        cut: how far heights and places are off.
    Returns:
        B x STRIP x W, 0..1, quantised to 256 levels; W is a multiple of 64, wide enough for all.
    """
    batch, rows, columns = masks.shape
    device = masks.device
    camera_cap = float(np.exp(dice.one(np.log(7.0), np.log(44.0))))
    squeeze = dice.one(0.5, 1.35) if dice.one(0, 1) < 0.6 else 1.0
    shrink = 2 if camera_cap < 22 else 1
    cap_px = camera_cap * shrink
    height = round(rows / CAP * camera_cap) * shrink
    width = round(columns / CAP * camera_cap * squeeze) * shrink
    size = [max(16, height), max(32, width)]
    source = masks[:, None].float() / 255
    lines = F.interpolate(source, size, mode="bilinear", antialias=True, align_corners=False)
    lines = _bend(lines, dice)[:, 0]
    y = torch.arange(size[0], device=device)[None, :, None] / cap_px
    x = torch.arange(size[1], device=device)[None, None, :] / cap_px / squeeze
    s, r = x.expand(batch, size[0], -1) - 6, y.expand(batch, -1, size[1]) - rows / CAP / 2
    relief_role = ((kind == 0) | (kind >= 3)).float()
    both = dice.chance(0.06)
    ink = lines * torch.maximum(1 - relief_role, both * (kind == 0))
    panel = (kind == 2).float() * torch.sigmoid((dice.between(0.7, 1.4) - r.abs()) * 20)
    layers = Layers(lines * torch.maximum(relief_role, both), ink, panel, s, r, cap_px)
    surface = build(layers, kind, draw_wear(dice, hard), bank, dice)
    radiance = shade(surface, s, r, cap_px, bank, dice)
    picture = photograph(radiance, dice, shrink)
    longest = (columns - 2 * MARGIN) / CAP * squeeze
    return _cut(picture, camera_cap, squeeze, longest + 1.8, cut, dice)


def _bend(lines: Tensor, dice: Dice) -> Tensor:
    """What straightening leaves over: a little turn, sag, shear and wave."""
    batch, _, rows, columns = lines.shape
    ys = torch.linspace(-1, 1, rows, device=lines.device)[None, :, None]
    xs = torch.linspace(-1, 1, columns, device=lines.device)[None, None, :]
    aspect = columns / rows
    sag = dice.between(-0.04, 0.04) * xs**2 + dice.between(-0.025, 0.025) * xs
    wave = dice.some(0.3, 0, 0.015) * torch.sin(xs * dice.between(2, 9) + dice.between(0, 6))
    gy = (ys + sag + wave + 0 * xs) * (1 + dice.between(-0.05, 0.05) * xs)
    gx = xs + dice.between(-0.22, 0.22) * ys / aspect + 0 * ys
    grid = torch.stack(torch.broadcast_tensors(gx, gy), -1)
    return F.grid_sample(lines, grid.expand(batch, -1, -1, -1), align_corners=False)


def _cut(
    picture: Tensor, cap: float, squeeze: float, width_caps: float, cut: Cut, dice: Dice
) -> Tensor:
    """Cut strips with a finder's errors in size and place, then store as 8 bits."""
    batch, rows, columns = picture.shape
    stretch, lift = dice.between(cut.low, cut.high), dice.between(-cut.lift, cut.lift)
    if cut.wild:  # not drawn otherwise, so that frozen lines stay what they were
        low, high, most = WILD
        wild = dice.chance(cut.wild) > 0
        stretch = torch.where(wild, dice.between(low, high), stretch)
        lift = torch.where(wild, dice.between(-most, most), lift)
    scale = torch.exp(stretch)  # estimated height over true height
    widest = max(1.22, float(1 / scale.min()))  # so that the end of a line cut tightly stays in
    out_columns = -(-round(width_caps * widest * CAP_ROWS) // 64) * 64
    px = cap * scale * 1.5 / STRIP  # camera pixels a strip pixel
    lift = lift * cap
    # lines begin MARGIN into the mask; strips begin 0.1 to 0.9 caps before that
    begin = MARGIN / CAP * cap * squeeze - dice.between(0.1, 0.9) * cap
    y = (torch.arange(STRIP, device=picture.device)[None, :, None] + 0.5 - STRIP / 2) * px
    x = (torch.arange(out_columns, device=picture.device)[None, None, :] + 0.5) * px
    gy = (y + lift + rows / 2) * 2 / rows - 1
    gx = (x + begin) * 2 / columns - 1
    grid = torch.stack(torch.broadcast_tensors(gx, gy), -1).expand(batch, STRIP, out_columns, 2)
    ratio = float(px.mean())
    if ratio > 1.3:  # the cutter pre-shrinks, so does this
        factor = 1 / ratio
        picture = F.interpolate(picture[:, None], scale_factor=factor, mode="area")[:, 0]
    out = F.grid_sample(picture[:, None], grid, padding_mode="border", align_corners=False)[:, 0]
    return (out * 255).round() / 255


def normalise(strips: Tensor) -> Tensor:
    """Zero mean and unit deviation a strip, clipped; the same sum as in the reader's engine."""
    mean = strips.mean((1, 2), keepdim=True)
    deviation = strips.std((1, 2), keepdim=True) + 2 / 255
    return ((strips - mean) / deviation).clamp(-4, 4)
