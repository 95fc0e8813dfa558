"""Pieces of real photographs without text, cut as a reader cuts strips: nothing is read there.

Drawn ground teaches a recogniser to keep silent on rubber; leaves, bricks and cups teach it to keep
silent on the world around the wheel.
"""

from __future__ import annotations

import math
from pathlib import Path

import cv2
import numpy as np
import torch
import torch.nn.functional as F
from torch import Tensor


class Snippets:
    """Pictures of one folder, from which strips are cut at random.

    Raises:
        FileNotFoundError: the folder holds no picture.
    """

    def __init__(self, folder: Path, device: str, seed: int) -> None:
        found = [cv2.imread(str(path), cv2.IMREAD_GRAYSCALE) for path in sorted(folder.glob("*"))]
        self.pictures = [
            torch.from_numpy(np.asarray(one, np.float32) / 255).to(device)
            for one in found
            if one is not None
        ]
        if not self.pictures:
            raise FileNotFoundError(
                f"no pictures in {folder}: build the packs of backgrounds first"
            )
        self.rng = np.random.default_rng((seed, 77))

    def cut(self, rows: int, columns: int) -> Tensor:
        """One strip, `rows` x `columns`, 0..1: any place, turn and scale."""
        picture = self.pictures[int(self.rng.integers(len(self.pictures)))]
        height, width = picture.shape
        step = math.exp(self.rng.uniform(math.log(0.4), math.log(3.0)))  # picture pixels a column
        turn = self.rng.uniform(0, 2 * math.pi)
        middle = self.rng.uniform((0, 0), (width, height))
        y = (torch.arange(rows, device=picture.device)[:, None] - rows / 2) * step
        x = (torch.arange(columns, device=picture.device)[None, :] - columns / 2) * step
        across = x * math.cos(turn) - y * math.sin(turn) + middle[0]
        down = x * math.sin(turn) + y * math.cos(turn) + middle[1]
        grid = torch.stack((across * 2 / width - 1, down * 2 / height - 1), -1)
        piece = F.grid_sample(
            picture[None, None], grid[None], padding_mode="reflection", align_corners=False
        )
        return piece[0, 0]

    def fill(self, strips: Tensor, empty: Tensor, share: float) -> Tensor:
        """Put pieces in the place of a share of the strips that bear nothing.

        Args:
            strips: B x rows x columns, 0..1.
            empty: B, true where a strip bears nothing.
            share: how many of those are replaced, 0..1.
        Returns:
            The strips, changed in place.
        """
        for index in empty.nonzero()[:, 0].tolist():
            if self.rng.random() < share:
                strips[index] = self.cut(*strips.shape[1:])
        return strips
