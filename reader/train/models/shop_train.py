"""Train the packaged recogniser on: half the time on a shop's strips, half on drawn lines."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from reader.ocr.alphabet import ALPHABET
from reader.ocr.moulded import MODEL, ROWS, fitted_width, normalised
from reader.records import Floats
from reader.train.models.fit_lines import (
    ARCHS,
    LineStream,
    disturb,
    greedy,
    learn,
    render_batch,
    score,
)
from reader.train.models.learner import Learner, Log, moments, weighted
from reader.train.models.recover import ARCH, recover
from reader.train.models.shop import Line, spelled
from reader.train.render.lines import normalise
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice

BATCH = 48
SHOWN = 4  # batches of strips that the norms are set by
RATE = 2e-4  # small: a shop's few strips must not undo what many drawn ones taught


def train(usable: Sequence[Line], apart: Sequence[Line], args: argparse.Namespace) -> None:
    """Go on from the packaged weights; prints what it reads before and after, and saves.

    Args:
        usable: strips to learn from, each with a text.
        apart: strips that are only scored.
        args: minutes, out, fonts, device, seed.
    """
    torch.manual_seed(args.seed)
    begun = recover(ARCHS[ARCH](), MODEL, _shown(usable))
    learner = Learner(begun, RATE, args.device)
    held = sorted((args.fonts / "held-out").glob("*.?tf"))
    _tell("before", learner.model, apart, held, args)
    fonts = weighted(sorted((args.fonts / "train").glob("*.?tf")), args.fonts / "index.csv")
    drawn = iter(LineStream(fonts, BATCH, args.seed))
    bank = NoiseBank(args.seed, args.device, per_kind=4)
    rng, log = np.random.default_rng(args.seed), Log()
    for moment in moments(args.minutes, log):
        dice = Dice(args.seed * 1_000_003 + moment.step, BATCH, args.device)
        pixels, targets, lengths = render_batch(next(drawn), bank, dice, dice.one(0.2, 1.2))
        tidy = normalise(pixels.float() / 255)[:, None]
        log.add({"drawn": learn(learner, tidy, targets, lengths, moment.pace)})
        chosen = [usable[k] for k in rng.integers(len(usable), size=BATCH)]
        pixels, targets, lengths = batch_of(chosen, args.device)
        with torch.no_grad():
            changed = normalise(disturb(pixels, dice))[:, None]
        log.add({"shop": learn(learner, changed, targets, lengths, moment.pace)})
        log.show(moment.step + 1)
    _tell("after", learner.averaged.module, apart, held, args)
    learner.save(args.out, {"arch": ARCH, "seed": args.seed})
    print(f"wrote {args.out}")


def _shown(lines: Sequence[Line]) -> list[Floats]:
    """Some strips as the network sees them, which its norms are set by: real ones, not drawn."""
    batches = [lines[k : k + BATCH] for k in range(0, min(len(lines), SHOWN * BATCH), BATCH)]
    shown = []
    for some in batches:
        wide = max(fitted_width(line.pixels) for line in some)
        rows = [normalised(line.pixels, fitted_width(line.pixels), wide) for line in some]
        shown.append(np.stack(rows)[:, None].astype(np.float32))
    return shown


def batch_of(lines: Sequence[Line], device: str) -> tuple[Tensor, Tensor, Tensor]:
    """Strips padded to one width, and their texts as letters' numbers (blank is 0)."""
    wide = max(fitted_width(line.pixels) for line in lines)
    rows = [normalised(line.pixels, fitted_width(line.pixels), wide) for line in lines]
    low, high = -4.0, 4.0
    pixels = ((np.stack(rows) - low) / (high - low) * 255).round().astype(np.uint8)
    spelled_out = [[ALPHABET.index(letter) + 1 for letter in spelled(line.text)] for line in lines]
    flat = torch.tensor([number for word in spelled_out for number in word], dtype=torch.long)
    lengths = torch.tensor([len(word) for word in spelled_out], dtype=torch.long)
    return torch.from_numpy(pixels).to(device), flat.to(device), lengths


@torch.no_grad()
def exact(model: torch.nn.Module, lines: Sequence[Line], device: str) -> int:
    """How many texts a network reads letter for letter."""
    model.eval()
    right = 0
    for line in lines:
        wide = fitted_width(line.pixels)
        strip = torch.from_numpy(normalised(line.pixels, wide, wide)).to(device)
        right += spelled(greedy(model(strip[None, None]).float())[0]) == spelled(line.text)
    model.train()
    return right


def _tell(
    when: str,
    model: torch.nn.Module,
    apart: Sequence[Line],
    held: list[Path],
    args: argparse.Namespace,
) -> None:
    told = [line for line in apart if line.text]
    shop = f"{exact(model, told, args.device)} of {len(told)} strips kept apart"
    drawn = score(model, held, args.device, batches=2)["all"] if held else 0.0
    print(f"{when}: {shop}; {drawn:.1%} of drawn lines (strips of {ROWS} rows)", flush=True)
