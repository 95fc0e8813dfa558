"""The same surface under a light that moves: heights and materials once, light frame by frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor

from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice, Surface, shadow, skylight, uneven


@dataclass
class Lit:
    """What of the light does not move: normals, hollows, and fixed light already summed up."""

    surface: Surface
    normal: tuple[Tensor, Tensor, Tensor]
    s: Tensor
    r: Tensor
    fixed: Tensor  # diffuse light of sky and lamps
    lamps: list[tuple[Tensor, Tensor, Tensor, Tensor]]  # strength and direction, for glints
    around: tuple[NoiseBank, Tensor, Tensor, Tensor]  # mirrored surroundings
    falloff: Tensor


def settle(
    surface: Surface, s: Tensor, r: Tensor, cap_px: float, bank: NoiseBank, dice: Dice
) -> Lit:
    """Everything that stays as it is while the camera moves; arguments as of shade.shade."""
    height = surface.height
    (nx, ny, nz), fixed = skylight(height, cap_px, dice)
    lamps = []
    for index in range(2):
        strength = dice.between(0.4, 1.2) if index == 0 else dice.some(0.35, 0.1, 0.7)
        azimuth, elevation = dice.between(0, 2 * math.pi), dice.between(0.14, 1.4)
        flat, lz = torch.cos(elevation), torch.sin(elevation)
        lx, ly = torch.cos(azimuth) * flat, torch.sin(azimuth) * flat
        lit = (nx * lx + ny * ly + nz * lz).clamp(min=0) * shadow(height, lx, ly, lz, cap_px)
        fixed = fixed + strength * lit
        lamps.append((strength, lx, ly, lz))
    around = bank, dice.number(64), dice.between(60, 220), dice.between(0, 300)
    return Lit(surface, (nx, ny, nz), s, r, fixed, lamps, around, uneven(bank, dice, s, r))


def light(lit: Lit, eye: tuple[float, float, float], torchlight: float) -> Tensor:
    """Linear radiance, 1 x H x W, as seen by a camera with a lamp beside its lens.

    Args:
        lit: the settled surface.
        eye: where the camera is: along, across and above the sheet, in caps.
        torchlight: strength of the phone's lamp; 1 is about a room's.
    """
    nx, ny, nz = lit.normal
    surface = lit.surface
    tx, ty, tz = _towards(lit, (eye[0] + 0.06 * eye[2], eye[1], eye[2]))
    vx, vy, vz = _towards(lit, eye)
    diffuse, glint = lit.fixed, torch.zeros_like(nx)
    sources = list(lit.lamps)
    if torchlight > 0:
        strength = torchlight * (tz**2)  # falls off away from the middle
        diffuse = diffuse + strength * (nx * tx + ny * ty + nz * tz).clamp(min=0)
        sources.append((strength, tx, ty, tz))
    for strength, lx, ly, lz in sources:
        hx, hy, hz = lx + vx, ly + vy, lz + vz
        half = torch.rsqrt(hx**2 + hy**2 + hz**2)
        facing = ((nx * hx + ny * hy + nz * hz) * half).clamp(0, 1)
        glint = glint + strength * facing**surface.shine * (surface.shine + 8) / 60
    bank, which, bend, drift = lit.around
    around = bank.sample(
        "cloud", which, nx * bend + lit.s * 3 + drift - eye[0] * 4, ny * bend + lit.r * 3
    ).clamp(-1, 2.5)
    mirrored = surface.mirror * (0.5 + 0.5 * around).clamp(min=0)
    shone = surface.albedo * diffuse + surface.gloss * glint * 0.35 + mirrored * surface.gloss
    return shone * lit.falloff


def _towards(lit: Lit, spot: tuple[float, float, float]) -> tuple[Tensor, Tensor, Tensor]:
    """Unit vectors from the sheet's points to a spot above it."""
    x, y = spot[0] - lit.s, spot[1] - lit.r
    norm = torch.rsqrt(x**2 + y**2 + spot[2] ** 2)
    return x * norm, y * norm, spot[2] * norm
