"""Train the line finder: `python -m reader.train.models.fit_finder --minutes 9 --out ...`."""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import torch
import torch.nn.functional as F
from torch import Tensor
from torch.utils.data import DataLoader, IterableDataset

from reader.train.models.learner import Learner, Log, Pool, moments, weighted
from reader.train.models.nets import Finder, normalise_tile
from reader.train.render import geometry
from reader.train.render.noise import NoiseBank
from reader.train.render.scenes import Truth, render_scene, stack_sheets, to_device, truth_maps
from reader.train.render.shade import Dice, kinds_of
from reader.train.render.sheet import Look, draw_sheet
from reader.train.render.texts import draw_line

SIDE = 512
KIND_SHARES = (0.5, 0.13, 0.14, 0.10, 0.13)
ROUGH = 0.45  # share of pictures before a wall or floor instead of a photograph
CAPS = ((6.0, 14.0, 2), (12.0, 30.0, 1), (24.0, 60.0, 1))  # low, high, render multiple


Batch = tuple[Tensor, Tensor, geometry.View, Tensor, int]


class SceneStream(IterableDataset):
    """Endless batches of sheets and views: (masks, labels, view, kinds, render multiple)."""

    def __init__(self, fonts: list[Path], batch: int, seed: int, count: int | None = None) -> None:
        self.fonts, self.batch, self.seed, self.count = fonts, batch, seed, count

    def __iter__(self) -> Iterator[Batch]:
        """Draw until `count` batches, or for ever."""
        worker = torch.utils.data.get_worker_info()
        number = worker.id if worker else 0
        rng = np.random.default_rng((self.seed, number))
        torch.set_num_threads(1)
        done = 0
        while self.count is None or done < self.count:
            yield self._draw(rng)
            done += 1

    def _draw(self, rng: np.random.Generator) -> Batch:
        low, high, shrink = CAPS[int(rng.choice(3, p=[0.4, 0.42, 0.18]))]
        generator = torch.Generator().manual_seed(int(rng.integers(2**40)))
        view = geometry.draw_view(generator, self.batch, (SIDE, SIDE), (low, high), 0.25)
        where = torch.rand(2, self.batch, generator=generator) * SIDE
        geometry.place(view, where[0], where[1])
        kinds = kinds_of(Dice(int(rng.integers(2**40)), self.batch, "cpu"), KIND_SHARES)
        sheets = []
        for k in range(self.batch):
            kind = int(kinds[k, 0, 0])
            caps_across = SIDE * 1.3 / float(view.cap[k])
            turn = 2 * math.pi * float(view.radius[k] / view.cap[k])
            length = min(caps_across, turn, 110.0)
            breadth = float(rng.uniform(2.5, 6.0 if kind >= 2 else 11.0))
            rim = kind >= 2 and rng.random() < 0.8
            look = Look(
                kind,
                "rim_size" if rim else "tyre_size",
                density=0.0 if rng.random() < 0.08 else float(rng.uniform(0.3, 0.95)),
            )
            sheets.append(draw_sheet(rng, length, breadth, look, self.fonts, draw_line))
        masks, labels = stack_sheets(sheets)
        return masks, labels, view, kinds, shrink


def load_backgrounds(folder: Path, side: int = 640) -> Tensor:
    """Grey squares 0..1, N x side x side; smooth noise if the folder is empty."""
    pictures = []
    for path in sorted(folder.glob("*.jpg")):
        grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        if grey is not None:
            pictures.append(cv2.resize(grey, (side, side), interpolation=cv2.INTER_AREA))
    if not pictures:
        noise = torch.rand(8, 1, 40, 40, generator=torch.Generator().manual_seed(3))
        return F.interpolate(noise, (side, side), mode="bicubic")[:, 0].clamp(0, 1)
    return torch.from_numpy(np.stack(pictures)).float() / 255


def losses(maps: Tensor, truth: Truth) -> dict[str, Tensor]:
    """Loss of each output; `maps` is Finder's output in float32."""
    valid = 1 - truth.ignore
    logit = maps[:, 0]
    plain = F.binary_cross_entropy_with_logits(logit, truth.text, reduction="none") * valid
    wrong = (torch.sigmoid(logit) - truth.text).abs()
    focal = (plain * (0.15 + wrong**1.5)).sum() / valid.sum() * 12
    share = torch.sigmoid(logit) * valid
    overlap = (share * truth.text).sum((1, 2))
    total = share.sum((1, 2)) + (truth.text * valid).sum((1, 2))
    dice = (1 - (2 * overlap + 20) / (total + 20)).mean()
    inside = truth.text * valid
    count = inside.sum() + 1
    double_x = truth.along_x**2 - truth.along_y**2
    double_y = 2 * truth.along_x * truth.along_y
    axis = ((maps[:, 1] - double_x).abs() + (maps[:, 2] - double_y).abs()) * inside
    # a plain distance: where the direction can't be seen the best answer is a short arrow
    arrow = (maps[:, 3] - truth.along_x) ** 2 + (maps[:, 4] - truth.along_y) ** 2
    size = (F.smooth_l1_loss(maps[:, 5], truth.height, reduction="none", beta=0.1) * inside).sum()
    surface = F.binary_cross_entropy_with_logits(maps[:, 6], truth.surface)
    return {
        "text": focal,
        "dice": dice,
        "axis": axis.sum() / count,
        "turn": (arrow * inside).sum() / count,
        "size": size / count,
        "surface": surface * 0.5,
    }


def _agreement(maps: Tensor, truth: Truth) -> Tensor:
    """Cosine between told and true reading directions, B x h x w."""
    direction = F.normalize(maps[:, 3:5], dim=1)
    return direction[:, 0] * truth.along_x + direction[:, 1] * truth.along_y


def make_batch(
    item: Batch, bank: NoiseBank, backgrounds: Tensor, seed: int, device: str, hard: float
) -> tuple[Tensor, Truth]:
    """Render one batch and its truth on the device."""
    masks, labels, view, kinds, shrink = item
    view = to_device(view, device)
    dice = Dice(seed, kinds.shape[0], device)
    pictures, face, cover = render_scene(
        masks.to(device, non_blocking=True),
        view,
        (SIDE, SIDE),
        kinds.to(device),
        bank,
        dice,
        backgrounds,
        shrink,
        hard,
        rough=ROUGH,
    )
    pictures = (pictures * 255).round() / 255
    return pictures, truth_maps(labels.to(device), view, (SIDE, SIDE), face, cover)


@torch.no_grad()
def score(model: torch.nn.Module, fonts: list[Path], backgrounds: Tensor, device: str) -> dict:
    """Pixel precision and recall of text cores, and direction errors, on held-out material."""
    model.eval()
    bank = NoiseBank(90211, device)
    hit = found = there = turned = cored = 0.0
    for step, item in enumerate(SceneStream(fonts, 12, 778, 20)):
        pictures, truth = make_batch(item, bank, backgrounds, 20_000 + step, device, 1.0)
        maps = model(normalise_tile(pictures[:, None])).float()
        valid = 1 - truth.ignore
        guess = (maps[:, 0] > 0).float() * valid
        hit += float((guess * truth.text).sum())
        found += float(guess.sum())
        there += float((truth.text * valid).sum())
        turned += float(((_agreement(maps, truth) < 0.0).float() * guess * truth.text).sum())
        cored += float((guess * truth.text).sum())
    model.train()
    return {
        "precision": round(hit / (found + 1), 4),
        "recall": round(hit / (there + 1), 4),
        "misdirected": round(turned / (cored + 1), 4),
    }


Pictures = tuple[Tensor, Tensor]  # uint8 B x H x W; half B x 6 x h x w, Truth's fields in order


def pack(pictures: Tensor, truth: Truth) -> Pictures:
    """Small enough for a pool of thousands."""
    maps = torch.stack(
        [truth.text, truth.ignore, truth.along_x, truth.along_y, truth.height, truth.surface], 1
    )
    return (pictures * 255).to(torch.uint8), maps.half()


def unpack(maps: Tensor) -> Truth:
    """Truth of packed maps."""
    return Truth(*maps.float().unbind(1))


def turn(pictures: Tensor, maps: Tensor, quarters: int) -> Pictures:
    """Turn pictures and truths by quarter turns against the clock; directions turn with them."""
    pictures = torch.rot90(pictures, quarters, (1, 2))
    maps = torch.rot90(maps, quarters, (2, 3)).clone()
    for _ in range(quarters % 4):
        x, y = maps[:, 2].clone(), maps[:, 3].clone()
        maps[:, 2], maps[:, 3] = y, -x
    return pictures, maps


def disturb(pictures: Tensor, dice: Dice) -> Tensor:
    """Pictures seen before in another tone and with more noise; 0..1 out."""
    light = pictures.float() / 255
    light = light.clamp(min=1e-3) ** dice.log_between(0.6, 1.6)
    light = light + torch.randn_like(light) * dice.some(0.5, 0.004, 0.05)
    return (light * dice.between(0.7, 1.2)).clamp(0, 1)


def learn(learner: Learner, pictures: Tensor, truth: Truth, pace: float) -> dict[str, Tensor]:
    """One step on pictures 0..1; returns the losses."""
    tiles = normalise_tile(pictures[:, None]).contiguous(memory_format=torch.channels_last)
    with torch.autocast(tiles.device.type, torch.bfloat16):
        maps = learner.model(tiles)
    parts = losses(maps.float(), truth)
    learner.step(sum(parts.values(), maps.new_zeros(())), pace)
    return parts


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("--fonts", type=Path, default=Path("carry/fonts"))
    parser.add_argument("--backgrounds", type=Path, default=Path("carry/backgrounds"))
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--batch", type=int, default=24)
    parser.add_argument(
        "--again", type=int, default=3, help="steps on earlier pictures a new batch"
    )
    parser.add_argument("--rate", type=float, default=1.5e-3)
    parser.add_argument("--workers", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--device", default="cuda")
    return parser.parse_args()


def main() -> None:
    """Train, score, save."""
    args = _arguments()
    torch.manual_seed(args.seed)
    fonts = weighted(sorted((args.fonts / "train").glob("*.?tf")), args.fonts / "index.csv")
    held = sorted((args.fonts / "held-out").glob("*.?tf"))
    backgrounds = load_backgrounds(args.backgrounds / "train").to(args.device)
    others = load_backgrounds(args.backgrounds / "held-out").to(args.device)
    learner = Learner(Finder(), args.rate, args.device, args.start)
    print(f"{len(set(fonts))} fonts, {len(backgrounds)} backgrounds")
    stream = SceneStream(fonts, args.batch, args.seed)
    loader = iter(DataLoader(stream, None, num_workers=args.workers, prefetch_factor=3))
    bank = NoiseBank(args.seed, args.device, per_kind=10)
    pool: Pool[Pictures] = Pool(300, args.seed)
    log = Log()
    moment = None
    for moment in moments(args.minutes, log, 200):
        asked = time.time()
        item = next(loader)
        log.waited += time.time() - asked
        if moment.step % 300 == 299:
            bank = NoiseBank(args.seed + moment.step, args.device, per_kind=10)
        hard = 0.3 + 0.9 * min(1.0, moment.share * 3) if not args.start else 1.1
        seed = args.seed * 1_000_003 + moment.step
        with torch.no_grad():
            pictures, truth = make_batch(item, bank, backgrounds, seed, args.device, hard)
        pool.add(pack(pictures, truth))
        log.add(learn(learner, pictures, truth, moment.pace))
        for k in range(args.again):
            pairs = [turn(*pool.draw(), int(pool.rng.integers(4))) for _ in range(2)]
            seen, maps = (torch.cat(parts) for parts in zip(*pairs, strict=True))
            with torch.no_grad():
                changed = disturb(seen, Dice(seed * 7 + k, len(seen), args.device, 16))
            again = learn(learner, changed, unpack(maps), moment.pace)
            log.add({"again": torch.stack([v.detach() for v in again.values()]).sum()})
        log.show(moment.step + 1)
    final = score(learner.averaged.module, held, others, args.device)
    print("held-out pixels:", json.dumps(final))
    steps = moment.step + 1 if moment else 0
    learner.save(args.out, {"score": final, "steps": steps, "seed": args.seed})


if __name__ == "__main__":
    main()
