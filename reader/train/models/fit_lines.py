"""Train a letter recogniser: `python -m reader.train.models.fit_lines --minutes 9 --out lines.pt`.

Writes a checkpoint with weights, settings and the held-out score; `export` turns it into ONNX.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
from torch import Tensor
from torch.utils.data import DataLoader, IterableDataset

from reader.ocr.alphabet import ALPHABET
from reader.train.models.learner import Learner, Log, Pool, moments, weighted
from reader.train.models.nets import ConvolutionReader, FineReader, RecurrentReader
from reader.train.render.lines import (
    AS_FOUND,
    BLANK,
    CAP,
    MARGIN,
    PEEPING,
    Cut,
    LineMask,
    draw_line_mask,
    normalise,
    render_strips,
)
from reader.train.render.noise import NoiseBank
from reader.train.render.shade import Dice
from reader.train.render.snippets import Snippets
from reader.train.render.texts import draw_line

ARCHS: dict[str, type[torch.nn.Module]] = {
    "recurrent": RecurrentReader,
    "convolution": ConvolutionReader,
    "fine": FineReader,
}
HOPELESS = 1.8  # loss a letter, in nats, from which on a strip pulls no stronger
BADLY = (0.7, 1.0, 1.3, 1.8)  # of the true height, by which the score cuts as well
OFTEN_PEEPING = 0.45  # in training
OFTEN_BLANK = 0.16  # in training: what bears nothing must stay silent however it is cut
FROM_PHOTOGRAPHS = 0.6  # of the strips without letters
WILD_SHARE = 0.4  # of the strips, cut far too tight or too loose
WIDEST = (7.0, 11.0, 16.0, 23.0)  # caps; batches are drawn per class so that little is padding


Batch = tuple[Tensor, Tensor, Tensor, Tensor, list[str]]


class LineStream(IterableDataset):
    """Endless batches of drawn lines: (masks, kinds, targets, target lengths, texts)."""

    def __init__(
        self,
        fonts: list[Path],
        batch: int,
        seed: int,
        count: int | None = None,
        peeping: float = PEEPING,
        blank: float = BLANK,
    ) -> None:
        self.fonts, self.batch, self.seed, self.count = fonts, batch, seed, count
        self.peeping, self.blank = peeping, blank

    def __iter__(self) -> Iterator[Batch]:
        """Draw until `count` batches, or for ever."""
        worker = torch.utils.data.get_worker_info()
        rng = np.random.default_rng((self.seed, worker.id if worker else 0))
        pools: dict[int, list[LineMask]] = {k: [] for k in range(len(WIDEST))}
        done = 0
        while self.count is None or done < self.count:
            line = draw_line_mask(rng, self.fonts, draw_line, WIDEST[-1], self.peeping, self.blank)
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
def score(
    model: torch.nn.Module,
    fonts: list[Path],
    device: str,
    batches: int = 24,
    cut: Cut = AS_FOUND,
) -> dict:
    """Exact share by kind on held-out fonts and textures, and of all."""
    model.eval()
    bank = NoiseBank(90210, device)
    right: dict[str, list[int]] = {}
    for step, (masks, kinds, _, _, texts) in enumerate(LineStream(fonts, 64, 777, batches)):
        dice = Dice(10_000 + step, len(texts), device)
        kind = kinds[:, None, None].to(device)
        strips = render_strips(masks.to(device), kind, bank, dice, cut=cut)
        for guess, text, k in zip(
            greedy(model(normalise(strips)[:, None]).float()), texts, kinds.tolist(), strict=True
        ):
            name = ("moulded", "printed", "decal", "engraved", "stamped")[k] if text else "nothing"
            right.setdefault(name, []).append(int(guess == text))
    model.train()
    right["all"] = [one for some in right.values() for one in some]
    return {name: round(sum(v) / len(v), 4) for name, v in sorted(right.items())}


def report(model: torch.nn.Module, fonts: list[Path], device: str) -> dict:
    """Print the score of lines cut as found, and of lines cut badly; returns the first."""
    final = score(model, fonts, device)
    print("held-out exact:", json.dumps(final), flush=True)
    for factor in BADLY:
        badly = score(model, fonts, device, 8, Cut.at(factor))
        print(f"cut at {factor} of the height:", json.dumps(badly), flush=True)
    return final


Strips = tuple[Tensor, Tensor, Tensor]  # uint8 B x STRIP x W, targets, target lengths


def learn(
    learner: Learner, strips: Tensor, targets: Tensor, lengths: Tensor, pace: float
) -> Tensor:
    """One step on a batch of normalised strips; returns the loss."""
    with torch.autocast(strips.device.type, torch.bfloat16):
        log_probs = learner.model(strips)
    log_probs = log_probs.float().transpose(0, 1)
    frames = torch.full((log_probs.shape[1],), log_probs.shape[0], dtype=torch.long)
    each = torch.nn.functional.ctc_loss(
        log_probs, targets, frames, lengths, reduction="none", zero_infinity=True
    )
    # empty strips have no letters to share their loss: count them as eight
    each = each / lengths.clamp(min=8).to(each.device)
    # strips past reading teach nothing but what is common: their pull is held to that of hard ones
    loss = (each * (HOPELESS / each.detach().clamp(min=HOPELESS))).mean()
    learner.step(loss, pace)
    return loss.detach()


def disturb(strips: Tensor, dice: Dice) -> Tensor:
    """Strips seen before, a little otherwise: tone, noise, place, width, something in front."""
    rows, columns = strips.shape[1:]
    picture = strips.float() / 255
    picture = picture.clamp(min=1e-3) ** dice.log_between(0.6, 1.6)
    picture = picture + torch.randn_like(picture) * dice.some(0.5, 0.005, 0.08)
    tall, lift = dice.between(0.88, 1.14), dice.between(-0.09, 0.09)
    shift, wide = dice.between(0, 8 / columns), dice.one(0.9, 1.08)
    width = -(-round(columns * wide) // 4) * 4
    y = torch.linspace(-1, 1, rows, device=strips.device)[None, :, None] * tall + lift
    x = torch.linspace(-1, 1, width, device=strips.device)[None, None, :] + shift
    grid = torch.stack(torch.broadcast_tensors(x, y), -1)
    picture = torch.nn.functional.grid_sample(
        picture[:, None], grid, padding_mode="border", align_corners=False
    )[:, 0]
    spot = (x - dice.between(-1, 1)).abs() < dice.some(0.12, 4 / columns, 24 / columns)
    return torch.where(spot & (y < dice.between(-1, 2)), dice.between(0, 1), picture).clamp(0, 1)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("--arch", choices=sorted(ARCHS), default="convolution")
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts"))
    parser.add_argument("--grounds", type=Path, default=Path("carry/backgrounds"))
    parser.add_argument("--out", type=Path, required=True, help="checkpoint to write")
    parser.add_argument("--start", type=Path, help="checkpoint to go on from")
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--batch", type=int, default=224)
    parser.add_argument("--again", type=int, default=3, help="steps on earlier batches a new one")
    parser.add_argument("--rate", type=float, default=1.2e-3)
    parser.add_argument("--workers", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--score", action="store_true", help="only score the one to start from")
    return parser.parse_args()


def render_batch(
    batch: Batch, bank: NoiseBank, dice: Dice, hard: float, snippets: Snippets | None = None
) -> Strips:
    """Strips of a drawn batch, on the dice's device."""
    masks, kinds, targets, lengths, _ = batch
    device = dice.device
    with torch.no_grad():
        kind = kinds[:, None, None].to(device)
        there = masks.to(device, non_blocking=True)
        strips = render_strips(there, kind, bank, dice, hard, Cut(wild=WILD_SHARE))
        if snippets:
            strips = snippets.fill(strips, ~masks.flatten(1).any(1), FROM_PHOTOGRAPHS)
    return (strips * 255).to(torch.uint8), targets.to(device), lengths


def main() -> None:
    """Train, score, save."""
    args = _arguments()
    torch.manual_seed(args.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    fonts = weighted(sorted((args.fonts / "train").glob("*.?tf")), args.fonts / "index.csv")
    held = sorted((args.fonts / "held-out").glob("*.?tf"))
    learner = Learner(ARCHS[args.arch](), args.rate, args.device, args.start)
    print(f"{len(set(fonts))} fonts, {len(held)} held out")
    if args.score:
        report(learner.model, held, args.device)
        return
    stream = LineStream(fonts, args.batch, args.seed, None, OFTEN_PEEPING, OFTEN_BLANK)
    snippets = Snippets(args.grounds / "train", args.device, args.seed)
    loader = iter(DataLoader(stream, None, num_workers=args.workers, prefetch_factor=4))
    bank = NoiseBank(args.seed, args.device, per_kind=10)
    pool: Pool[Strips] = Pool(240, args.seed)
    log = Log()
    moment = None
    for moment in moments(args.minutes, log):
        asked = time.time()
        batch = next(loader)
        log.waited += time.time() - asked
        if moment.step % 600 == 599:
            bank = NoiseBank(args.seed + moment.step, args.device, per_kind=10)
        seed = args.seed * 1_000_003 + moment.step
        dice = Dice(seed, args.batch, args.device)
        hard = dice.one(0.2, 1.4) if args.start else 0.1 + 1.1 * min(1.0, moment.share * 2)
        strips, targets, lengths = fresh = render_batch(batch, bank, dice, hard, snippets)
        pool.add(fresh)
        tidy = normalise(strips.float() / 255)[:, None]
        log.add({"new": learn(learner, tidy, targets, lengths, moment.pace)})
        for k in range(args.again):
            strips, targets, lengths = pool.draw()
            with torch.no_grad():
                changed = disturb(strips, Dice(seed * 7 + k, len(lengths), args.device, 16))
                tidy = normalise(changed)[:, None]
            log.add({"again": learn(learner, tidy, targets, lengths, moment.pace)})
        log.show(moment.step + 1)
    final = report(learner.averaged.module, held, args.device)
    steps = moment.step + 1 if moment else 0
    learner.save(args.out, {"arch": args.arch, "score": final, "steps": steps, "seed": args.seed})


if __name__ == "__main__":
    main()
