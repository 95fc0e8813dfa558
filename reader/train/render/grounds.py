"""What wheels lean on and lie on: walls, floors, cloth and gravel, drawn from noise.

Photographs behind a part, enlarged from small squares, are soft; without sharp grounds a finder
takes every fine grain for rubber or metal, and overlooks the part that stands before it.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor

from reader.train.render.noise import KINDS, NoiseBank
from reader.train.render.shade import Dice

LAYERS = 3  # kinds of noise in one ground


def ground(bank: NoiseBank, size: tuple[int, int], dice: Dice) -> Tensor:
    """Brightness of a ground seen at a slant, linear light, about 1; B x H x W."""
    across, up = _slanted(size, dice, bank.pictures.device)
    rough = torch.zeros_like(across)
    first = dice.number(len(KINDS))
    for layer in range(LAYERS):
        scale = dice.log_between(0.12, 4.0)
        strength = dice.log_between(0.1, 1.0)
        which = dice.number(64)
        u, v = across * scale + dice.between(0, 500), up * scale + dice.between(0, 500)
        for number, kind in enumerate(KINDS):  # each picture takes one kind a layer
            mine = ((first + 3 * layer) % len(KINDS) == number).nonzero()[:, 0]
            if len(mine):
                rough[mine] += strength[mine] * bank.sample(kind, which[mine], u[mine], v[mine])
    rough = rough * dice.log_between(0.03, 0.6)
    return torch.exp(rough.clamp(-2.5, 2.5)) * _joints(across, up, dice)


def _slanted(size: tuple[int, int], dice: Dice, device: torch.device) -> tuple[Tensor, Tensor]:
    """Places on the ground in pixels of the picture's middle, turned and foreshortened."""
    height, width = size
    ys = torch.linspace(-0.5, 0.5, height, device=device)[None, :, None]
    xs = torch.linspace(-0.5, 0.5, width, device=device)[None, None, :]
    turn = dice.between(0, 2 * math.pi)
    across = xs * torch.cos(turn) - ys * torch.sin(turn)
    up = xs * torch.sin(turn) + ys * torch.cos(turn)
    away = 1 / (1 + dice.some(0.6, 0.2, 1.2) * up)
    side = max(height, width)
    return across * away * side, up * away * side


def _joints(across: Tensor, up: Tensor, dice: Dice) -> Tensor:
    """Dark or light lines between planks, tiles and bricks, on some grounds."""
    shade = torch.ones_like(across)
    for along, there in ((across, 0.35), (up, 0.25)):
        period = dice.log_between(12, 400)
        wave = torch.sin(along * (2 * math.pi / period) + dice.between(0, 6.3))
        line = torch.sigmoid((wave - dice.between(0.9, 0.995)) * 300)
        tone = dice.log_between(0.25, 2.5)
        shade = shade * (1 + (tone - 1) * line * dice.chance(there))
    return shade
