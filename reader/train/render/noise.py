"""Banks of tileable noise pictures: the raw stuff of rubber, dust, scratches and light."""

from __future__ import annotations

import torch
import torch.nn.functional as F
from torch import Tensor

SIDE = 512
KINDS = ("grain", "fractal", "cloud", "cracks", "scratches", "spots", "brushed", "cells")


def _spectrum(
    generator: torch.Generator, count: int, power: float, high: float, device: str
) -> Tensor:
    """Noise with amplitude f**-power up to frequency `high` (share of Nyquist); N x S x S."""
    white = torch.randn(count, SIDE, SIDE, generator=generator).to(device)
    fy = torch.fft.fftfreq(SIDE, device=device)[:, None] * 2
    fx = torch.fft.fftfreq(SIDE, device=device)[None, :] * 2
    radius = torch.sqrt(fx**2 + fy**2)
    gain = (radius + 1.0 / SIDE) ** -power * torch.exp(-((radius / high) ** 2))
    gain[0, 0] = 0
    picture = torch.fft.ifft2(torch.fft.fft2(white) * gain).real
    return picture / picture.std(dim=(1, 2), keepdim=True)


def _scratches(generator: torch.Generator, count: int, device: str) -> Tensor:
    """Fine straight lines of random direction: stretched sparse noise, rolled and summed."""
    picture = torch.zeros(count, SIDE, SIDE, device=device)
    for _ in range(6):
        seeds = (torch.rand(count, SIDE, SIDE, generator=generator) > 0.99985).float().to(device)
        length = int(torch.randint(20, 160, (1,), generator=generator))
        slope = float(torch.rand(1, generator=generator)) * 2 - 1
        swap = bool(torch.rand(1, generator=generator) > 0.5)
        line = torch.zeros_like(seeds)
        for step in range(length):
            dx, dy = step, round(step * slope)
            line = torch.maximum(line, torch.roll(seeds, (dx, dy) if swap else (dy, dx), (1, 2)))
        picture += line * (0.4 + float(torch.rand(1, generator=generator)))
    return picture.clamp(0, 1.5)


def _cells(generator: torch.Generator, count: int) -> Tensor:
    """Knurl: products of two oblique waves."""
    y, x = torch.meshgrid(torch.arange(SIDE), torch.arange(SIDE), indexing="ij")
    pictures = []
    for _ in range(count):
        k, m = (int(v) * 8 for v in torch.randint(2, 8, (2,), generator=generator))
        wave = torch.sin(2 * torch.pi * (k * x + m * y) / SIDE)
        other = torch.sin(2 * torch.pi * (k * x - m * y) / SIDE)
        pictures.append(torch.maximum(wave, other))
    return torch.stack(pictures)


class NoiseBank:
    """Eight kinds of noise, `per_kind` pictures each, on one device; zero mean, unit deviation.

    Banks of different seeds share no picture, so a held-out seed is a held-out set of textures.
    """

    def __init__(self, seed: int, device: str = "cpu", per_kind: int = 6) -> None:
        generator = torch.Generator().manual_seed(seed)

        def noise(power: float, high: float) -> Tensor:
            return _spectrum(generator, per_kind, power, high, device)

        ridge = noise(1.2, 0.25)
        wrapped = F.pad(noise(0.0, 1.0)[:, None], (40, 40, 0, 0), "circular")
        brushed = F.avg_pool2d(wrapped, (1, 81), 1)
        banks = [
            noise(0.0, 0.7),
            noise(1.3, 0.6),
            noise(2.2, 0.1),
            (1 - ridge.abs() * 6).clamp(0, 1) * (noise(2, 0.1) > 0),
            _scratches(generator, per_kind, device),
            (noise(0.6, 0.12) - 1.6).clamp(0, 1),
            brushed[:, 0] / brushed.std(),
            _cells(generator, per_kind).to(device),
        ]
        self.per_kind = per_kind
        self.pictures = torch.stack(banks).float()  # kinds x per_kind x S x S
        # tiles are periodic: a first row and column repeated at the end spare every look-up a seam
        wrapped = F.pad(self.pictures, (0, 1, 0, 1), "circular")
        self._tall = wrapped.flatten(1, 2)[:, None, None]  # kinds x 1 x 1 x rows x columns

    def sample(self, kind: str, which: Tensor, u: Tensor, v: Tensor) -> Tensor:
        """Look noise up at coordinates in noise pixels, wrapped.

        Args:
            kind: one of KINDS.
            which: B integers, one picture a sample.
            u: B x H x W horizontal coordinates.
            v: B x H x W vertical coordinates.
        Returns:
            B x H x W.
        """
        # one tall picture for the whole batch: copying a tile a sample costs more than the rest
        tall = self._tall[KINDS.index(kind)]
        rows, side = tall.shape[2], SIDE + 1
        first = (which % self.per_kind * side)[:, None, None]
        y = (v % SIDE + first) * (2 / (rows - 1)) - 1
        x = (u % SIDE) * (2 / SIDE) - 1
        grid = torch.stack(torch.broadcast_tensors(x, y), -1)
        found = F.grid_sample(tall, grid.flatten(0, 1)[None], align_corners=True)
        return found.view(grid.shape[:3])
