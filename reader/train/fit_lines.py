"""Train a letter recogniser: `python -m reader.train.fit_lines --arch recurrent --minutes 9 ...`.

Writes a checkpoint with weights, settings and the held-out score; `export` turns it into ONNX.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
from torch import Tensor
from torch.utils.data import DataLoader, IterableDataset

from reader.ocr.alphabet import ALPHABET
from reader.train.lines import CAP, MARGIN, LineMask, draw_line_mask, normalise, render_strips
from reader.train.nets import ConvolutionReader, RecurrentReader
from reader.train.noise import NoiseBank
from reader.train.render import Dice
from reader.train.texts import draw_line

ARCHS: dict[str, type[torch.nn.Module]] = {
    "recurrent": RecurrentReader,
    "convolution": ConvolutionReader,
}
WIDEST = (7.0, 11.0, 16.0, 23.0)  # caps; batches are drawn per class so that little is padding


Batch = tuple[Tensor, Tensor, Tensor, Tensor, list[str]]


class LineStream(IterableDataset):
    """Endless batches of drawn lines: (masks, kinds, targets, target lengths, texts)."""

    def __init__(self, fonts: list[Path], batch: int, seed: int, count: int | None = None) -> None:
        self.fonts, self.batch, self.seed, self.count = fonts, batch, seed, count

    def __iter__(self) -> Iterator[Batch]:
        """Draw until `count` batches, or for ever."""
        worker = torch.utils.data.get_worker_info()
        rng = np.random.default_rng((self.seed, worker.id if worker else 0))
        pools: dict[int, list[LineMask]] = {k: [] for k in range(len(WIDEST))}
        done = 0
        while self.count is None or done < self.count:
            line = draw_line_mask(rng, self.fonts, draw_line, WIDEST[-1])
            caps = (line.mask.shape[1] - 2 * MARGIN) / CAP
            pool = pools[next(k for k, widest in enumerate(WIDEST) if caps <= widest + 0.01)]
            pool.append(line)
            if len(pool) == self.batch:
                yield collate(pool)
                pool.clear()
                done += 1


def collate(lines: list[LineMask]) -> Batch:
    """Pad masks on the right and spell truths as indices (blank is 0)."""
    width = max(line.mask.shape[1] for line in lines)
    masks = np.zeros((len(lines), lines[0].mask.shape[0], width), np.uint8)
    for k, line in enumerate(lines):
        masks[k, :, : line.mask.shape[1]] = line.mask
    spelled = [[ALPHABET.index(char) + 1 for char in line.truth] for line in lines]
    flat = torch.tensor([index for word in spelled for index in word], dtype=torch.long)
    lengths = torch.tensor([len(word) for word in spelled], dtype=torch.long)
    kinds = torch.tensor([line.kind for line in lines])
    return torch.from_numpy(masks), kinds, flat, lengths, [line.truth for line in lines]


def greedy(log_probs: Tensor) -> list[str]:
    """Best path texts of B x T x C."""
    texts = []
    for row in log_probs.argmax(-1).cpu().numpy():
        kept = row[np.insert(row[1:] != row[:-1], 0, True)]
        texts.append("".join(ALPHABET[k - 1] for k in kept if k).strip())
    return texts


@torch.no_grad()
def score(model: torch.nn.Module, fonts: list[Path], device: str, batches: int = 24) -> dict:
    """Exact share by kind on held-out fonts and textures."""
    model.eval()
    bank = NoiseBank(90210, device)
    right: dict[str, list[int]] = {}
    for step, (masks, kinds, _, _, texts) in enumerate(LineStream(fonts, 64, 777, batches)):
        dice = Dice(10_000 + step, len(texts), device)
        kind = kinds[:, None, None].to(device)
        strips = render_strips(masks.to(device), kind, bank, dice)
        for guess, text, k in zip(
            greedy(model(normalise(strips)[:, None]).float()), texts, kinds.tolist(), strict=True
        ):
            name = ("moulded", "printed", "decal", "engraved", "stamped")[k] if text else "nothing"
            right.setdefault(name, []).append(int(guess == text))
    model.train()
    return {name: round(sum(v) / len(v), 4) for name, v in sorted(right.items())}


class Learner:
    """One network with its optimiser and its running average."""

    def __init__(self, arch: str, rate: float, device: str, start: Path | None) -> None:
        self.arch, self.rate = arch, rate
        self.model = ARCHS[arch]().to(device)
        if start:
            self.model.load_state_dict(torch.load(start, map_location=device)["weights"])
        self.averaged = torch.optim.swa_utils.AveragedModel(
            self.model,
            multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998),
            use_buffers=True,
        )
        self.optimiser = torch.optim.AdamW(self.model.parameters(), rate, weight_decay=0.02)

    def learn(self, strips: Tensor, targets: Tensor, lengths: Tensor, pace: float) -> Tensor:
        """One step on a batch; `pace` scales the learning rate. Returns the loss."""
        for group in self.optimiser.param_groups:
            group["lr"] = self.rate * pace
        with torch.autocast(strips.device.type, torch.bfloat16):
            log_probs = self.model(strips)
        log_probs = log_probs.float().transpose(0, 1)
        frames = torch.full((log_probs.shape[1],), log_probs.shape[0], dtype=torch.long)
        each = torch.nn.functional.ctc_loss(
            log_probs, targets, frames, lengths, reduction="none", zero_infinity=True
        )
        # empty strips have no letters to share their loss: count them as eight
        loss = (each / lengths.clamp(min=8).to(each.device)).mean()
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.model.parameters(), 2.0)
        self.optimiser.step()
        self.averaged.update_parameters(self.model)
        return loss.detach()

    def save(self, path: Path, facts: dict) -> None:
        """Write the averaged weights as 16-bit floats."""
        path.parent.mkdir(parents=True, exist_ok=True)
        state = self.averaged.module.state_dict()
        weights = {k: v.half() if v.is_floating_point() else v for k, v in state.items()}
        torch.save({"weights": weights, "arch": self.arch, **facts}, path)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("--arch", nargs="+", choices=sorted(ARCHS), default=["recurrent"])
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts"))
    parser.add_argument("--out", type=Path, required=True, help="folder for ARCH.pt")
    parser.add_argument("--start", type=Path, help="folder with ARCH.pt to go on from")
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--batch", type=int, default=192)
    parser.add_argument("--rate", type=float, default=1.2e-3)
    parser.add_argument("--workers", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--quick", action="store_true", help="no score at the end")
    return parser.parse_args()


def main() -> None:
    """Train all asked for on the same batches, score, save."""
    args = _arguments()
    began = time.time()
    torch.manual_seed(args.seed)
    fonts = sorted((args.fonts / "train").glob("*.?tf"))
    held = sorted((args.fonts / "held-out").glob("*.?tf"))
    learners = [
        Learner(arch, args.rate, args.device, args.start / f"{arch}.pt" if args.start else None)
        for arch in args.arch
    ]
    print(f"{len(fonts)} fonts, {len(held)} held out")
    stream = LineStream(fonts, args.batch, args.seed)
    loader = iter(DataLoader(stream, None, num_workers=args.workers, prefetch_factor=4))
    bank = NoiseBank(args.seed, args.device, per_kind=10)
    step, shown, waited, kept = 0, time.time(), 0.0, []
    budget = args.minutes * 60
    while (spent := time.time() - began) < budget:
        asked = time.time()
        masks, kinds, targets, lengths, _ = next(loader)
        waited += time.time() - asked
        if step % 600 == 599:
            bank = NoiseBank(args.seed + step, args.device, per_kind=10)
        share = spent / budget
        pace = min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * share) + 0.01)
        dice = Dice(args.seed * 1_000_003 + step, len(lengths), args.device)
        hard = dice.one(0.4, 1.4) if args.start else 0.1 + 1.1 * min(1.0, share * 2)
        with torch.no_grad():
            kind = kinds[:, None, None].to(args.device)
            strips = render_strips(masks.to(args.device, non_blocking=True), kind, bank, dice, hard)
            strips = normalise(strips)[:, None]
        told = targets.to(args.device)
        kept.append(torch.stack([one.learn(strips, told, lengths, pace) for one in learners]))
        step += 1
        if time.time() - shown > 30 or step in (20, 100):
            shown = time.time()
            means = torch.stack(kept).mean(0).tolist()
            told_losses = "  ".join(f"{a} {m:.3f}" for a, m in zip(args.arch, means, strict=True))
            print(f"{spent:4.0f} s, waited {waited:.0f}, step {step}  {told_losses}", flush=True)
            kept = []
    for one in learners:
        final = {} if args.quick else score(one.averaged.module, held, args.device)
        print(one.arch, "held-out exact:", json.dumps(final), flush=True)
        one.save(args.out / f"{one.arch}.pt", {"score": final, "steps": step, "seed": args.seed})


if __name__ == "__main__":
    main()
