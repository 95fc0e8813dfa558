"""What a camera does to radiance: focus, shake, exposure, noise, phone processing, JPEG.

All pictures are B x H x W (grey) in 0..1; every step is per sample.
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from torch import Tensor

from reader.train.render.shade import Dice, blur


def expose(radiance: Tensor, dice: Dice, subject: Tensor | None = None) -> Tensor:
    """Automatic exposure with errors, then a tone curve; returns display values 0..1.

    Phones meter on what they are pointed at, or where the finger taps: with `subject` (0..1, like
    `radiance`) most exposures follow its light, the others that of the whole picture.
    """
    level = radiance.mean((1, 2), keepdim=True)
    if subject is not None:
        own = (radiance * subject).sum((1, 2), True) / (subject.sum((1, 2), True) + 1)
        level = torch.lerp(level, own, dice.chance(0.7) * (subject.mean((1, 2), True) > 0.01))
    level = level + 1e-6
    picture = radiance / level * dice.log_between(0.07, 0.5)
    haze = dice.some(0.25, 0.01, 0.12)
    picture = (picture + haze) / (1 + haze)
    shoulder = dice.between(0.6, 2.5)  # soft roll-off of highlights, as phones do
    picture = 1 - torch.exp(-picture * shoulder) if dice.one(0, 1) < 0.5 else picture
    return picture.clamp(0, 1) ** (1 / dice.between(1.7, 2.5))


def shake(picture: Tensor, dice: Dice, share: float, longest: float) -> Tensor:
    """Motion blur along a random direction, per sample, `longest` pixels at most."""
    length = dice.some(share, 0.5, max(0.6, longest))
    angle = dice.between(0, math.pi)
    radius = max(1, math.ceil(longest / 2))
    at = torch.arange(-radius, radius + 1, device=picture.device, dtype=picture.dtype)
    y, x = torch.meshgrid(at, at, indexing="ij")
    along = x * torch.cos(angle) + y * torch.sin(angle)
    across = -x * torch.sin(angle) + y * torch.cos(angle)
    kernel = torch.exp(-(across**2) / 0.3) * torch.sigmoid((length / 2 + 0.3 - along.abs()) * 6)
    kernel = kernel / kernel.sum((1, 2), keepdim=True)
    padded = F.pad(picture[:, None], (radius,) * 4, "replicate")[:, 0]
    if picture.is_cuda:
        return F.conv2d(padded[None], kernel[:, None], groups=picture.shape[0])[0]
    height, width = picture.shape[1:]
    out = torch.zeros_like(picture)
    for row in range(2 * radius + 1):
        for column in range(2 * radius + 1):
            weight = kernel[:, row : row + 1, column : column + 1]
            out.addcmul_(padded[:, row : row + height, column : column + width], weight)
    return out


def defocus(picture: Tensor, dice: Dice, share: float, strongest: float) -> Tensor:
    """Mix of sharp and blurred, per sample."""
    soft = blur(picture, dice.one(0.4, strongest))
    return torch.lerp(picture, soft, dice.some(share, 0.3, 1.0))


def sensor(picture: Tensor, dice: Dice) -> Tensor:
    """Shot and read noise."""
    read = dice.log_between(0.001, 0.02)
    shot = dice.log_between(0.001, 0.03)
    deviation = torch.sqrt(read**2 + shot**2 * picture.clamp(0, 1))
    if picture.device.type == "cpu":
        noise = torch.randn(picture.shape, generator=dice.generator)
    else:
        noise = torch.randn_like(picture)
    return picture + noise * deviation


def phone(picture: Tensor, dice: Dice) -> Tensor:
    """Patchy denoising, sharpening with halos, local tone mapping."""
    smooth = blur(picture, dice.one(0.8, 1.6))
    detail = picture - smooth
    threshold = dice.log_between(0.002, 0.03)
    kept = detail * (detail.abs() / threshold).clamp(0, 1)
    picture = torch.lerp(picture, smooth + kept, dice.some(0.45, 0.4, 1.0))
    picture = picture + (picture - blur(picture, dice.one(0.7, 1.8))) * dice.some(0.6, 0.2, 2.2)
    wide = blur(picture, dice.one(12, 40))
    strength = dice.some(0.3, 0.1, 0.6)
    picture = picture + (picture - wide) * strength * 0.7 + (0.45 - wide) * strength * 0.4
    return picture.clamp(0, 1)


_STEPS = torch.tensor(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ],
    dtype=torch.float32,
)  # luminance table of ITU-T T.81 (1992), Annex K.1


def _cosines(device: torch.device) -> Tensor:
    k = torch.arange(8, dtype=torch.float32, device=device)
    matrix = torch.cos((2 * k[None, :] + 1) * k[:, None] * math.pi / 16) * 0.5
    matrix[0] /= math.sqrt(2)
    return matrix


def jpeg(picture: Tensor, dice: Dice, share: float = 0.85) -> Tensor:
    """Quantise 8 x 8 blocks as JPEG luminance does, quality 35 to 96 per sample."""
    batch, height, width = picture.shape
    down, right = -height % 8, -width % 8
    full = F.pad(picture[:, None], (0, right, 0, down), "replicate")[:, 0] * 255 - 128
    blocks = full.reshape(batch, (height + down) // 8, 8, (width + right) // 8, 8).transpose(2, 3)
    matrix = _cosines(picture.device)
    waves = matrix @ blocks @ matrix.T
    quality = dice.between(35, 96)
    scale = torch.where(quality < 50, 50 / quality, 2 - quality / 50)
    steps = (_STEPS.to(picture.device) * scale).clamp(min=1)[:, None, None]
    waves = torch.round(waves / steps) * steps
    blocks = matrix.T @ waves @ matrix
    full = blocks.transpose(2, 3).reshape(batch, height + down, width + right)
    coded = ((full + 128) / 255).clamp(0, 1)[:, :height, :width]
    return torch.lerp(picture, coded, dice.chance(share))


def photograph(
    radiance: Tensor,
    dice: Dice,
    shrink: int,
    softness: float = 1.0,
    subject: Tensor | None = None,
) -> Tensor:
    """From radiance at `shrink` times the camera's resolution to the camera's file, 0..1."""
    picture = expose(radiance, dice, subject)
    picture = defocus(picture, dice, 0.5, max(0.6, 1.7 * softness * shrink))
    picture = shake(picture, dice, 0.25, max(1.0, 3.0 * softness * shrink))
    if shrink > 1:
        picture = F.avg_pool2d(picture[:, None], shrink)[:, 0]
    picture = sensor(picture, dice)
    return jpeg(phone(picture, dice), dice)
