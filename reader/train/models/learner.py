"""What both trainings share: a network with optimiser and average, a pace, a pool to draw from."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import numpy as np
import torch
from torch import Tensor


class Learner:
    """One network with its optimiser and its running average."""

    def __init__(
        self, model: torch.nn.Module, rate: float, device: str, start: Path | None = None
    ) -> None:
        self.rate = rate
        self.model = model.to(device).to(memory_format=torch.channels_last)  # type: ignore[call-overload]
        if start:
            self.model.load_state_dict(torch.load(start, map_location=device)["weights"])
        self.averaged = torch.optim.swa_utils.AveragedModel(
            self.model,
            multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.999),
            use_buffers=True,
        )
        self.optimiser = torch.optim.AdamW(self.model.parameters(), rate, weight_decay=0.02)

    def step(self, loss: Tensor, pace: float) -> None:
        """Go one step down; `pace` scales the learning rate."""
        for group in self.optimiser.param_groups:
            group["lr"] = self.rate * pace
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.model.parameters(), 2.0)
        self.optimiser.step()
        self.averaged.update_parameters(self.model)

    def save(self, path: Path, facts: dict) -> None:
        """Write the averaged weights as 16-bit floats, with facts about them."""
        path.parent.mkdir(parents=True, exist_ok=True)
        state = self.averaged.module.state_dict()
        weights = {k: v.half() if v.is_floating_point() else v for k, v in state.items()}
        torch.save({"weights": weights, **facts}, path)


T = TypeVar("T")


@dataclass
class Moment:
    """Where a training stands: step from 0, share of the time spent, scale of the rate."""

    step: int
    share: float
    pace: float


class Log:
    """Mean losses every half minute, with how long the drawing of batches was waited for."""

    def __init__(self) -> None:
        self.began = self.shown = time.time()
        self.waited = 0.0
        self.kept: dict[str, list[Tensor]] = {}

    def add(self, losses: dict[str, Tensor]) -> None:
        """Keep losses without waiting for the device."""
        for name, loss in losses.items():
            self.kept.setdefault(name, []).append(loss.detach())

    def show(self, step: int) -> None:
        """Print and forget, if it is time."""
        if time.time() - self.shown < 30 and step not in (20, 100):
            return
        self.shown = time.time()
        told = "  ".join(
            f"{name} {float(torch.stack(losses).mean()):.3f}" for name, losses in self.kept.items()
        )
        spent = self.shown - self.began
        print(f"{spent:4.0f} s, waited {self.waited:.0f}, step {step}  {told}", flush=True)
        self.kept.clear()


def moments(minutes: float, log: Log, warm: int = 300) -> Iterator[Moment]:
    """Steps until the time is up: a short rise of the rate, then down along a cosine."""
    step = 0
    while (share := (time.time() - log.began) / (minutes * 60)) < 1:
        pace = min(1, (step + 1) / warm) * (0.5 + 0.5 * math.cos(math.pi * share) + 0.01)
        yield Moment(step, share, pace)
        step += 1


class Pool(Generic[T]):
    """The latest `size` batches; rendering one costs more than learning from it several times."""

    def __init__(self, size: int, seed: int) -> None:
        self.size = size
        self.items: list[T] = []
        self.rng = np.random.default_rng(seed)

    def add(self, item: T) -> None:
        """Put a batch in the place of a random one when full."""
        if len(self.items) < self.size:
            self.items.append(item)
        else:
            self.items[int(self.rng.integers(self.size))] = item

    def draw(self) -> T:
        """Any batch."""
        return self.items[int(self.rng.integers(len(self.items)))]


def weighted(fonts: Sequence[Path], index: Path) -> list[Path]:
    """Fonts repeated by how often their class is seen on tyres and rims.

    The weights are judged from what moulds, stencils and engravers use (common practice, no
    source). Without an index every font counts once.
    """
    if not index.exists():
        return list(fonts)
    import csv

    with index.open(encoding="utf-8", newline="") as stream:
        kind = {Path(row["path"]).name: row["class"] for row in csv.DictReader(stream)}
    return [font for font in fonts for _ in range(WEIGHTS.get(kind.get(font.name, ""), 2))]


WEIGHTS = {
    "condensed": 7, "din": 7, "stencil": 6, "wide": 4, "rounded": 4, "grotesk": 3, "ocr": 3,
    "slab": 2, "mono": 2, "outline": 2, "italic": 4, "dot": 2, "serif": 1, "hand": 1, "display": 1,
    "segment": 1,
}  # fmt: skip
