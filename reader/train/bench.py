"""Read held-out rendered photographs and say how many sizes come out right.

`python -m reader.train.bench --photos 20 --out reader/train/bench.md`: the tool, and on the first
photos of each kind the general engines run plainly with the same grammar. Fonts, textures,
backgrounds and invented names are the held-out ones; seeds start at 1,000,000, which nothing else
uses.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reader.markings import parse_text
from reader.pipeline import read
from reader.records import Marking, PartKind, Photo, Size, Verdict
from reader.size.resolve import resolve
from reader.tables import load_tables
from reader.train.fit_finder import load_backgrounds
from reader.train.noise import NoiseBank
from reader.train.peers import PEERS, markings
from reader.train.photos import HELD_OUT_BANK, RECIPES, Shot, shoot

FIRST_SEED = 1_000_000
KINDS = (
    "decal", "stamped", "engraved", "printed", "moulded", "worn", "dirty", "tiny", "magnifier",
    "glare", "nothing", "other texts", "whole printed", "whole",
)  # fmt: skip
TOLD = (Verdict.SURE, Verdict.LIKELY)


@dataclass
class Tally:
    """Counts over one kind's photos."""

    photos: int = 0
    right: int = 0  # told as sure or likely, and right
    wrong_sure: int = 0
    wrong_told: int = 0  # sure or likely, and wrong
    bsd: int = 0  # told, with the right bead seat diameter


def truth_of(shot: Shot) -> set[tuple[int, float | None]]:
    """(BSD, width) that the set text can mean; widths are None where the text leaves them open."""
    if not shot.truth:
        return set()
    part: PartKind = "rim" if shot.part == "rim" else "tyre"
    reading = resolve(parse_text(shot.truth), part, load_tables())
    best = reading.candidates[:1] if reading.verdict in TOLD else reading.candidates
    return {(c.size.bsd, c.size.width) for c in best}


def count(tally: Tally, truth: set, size: Size | None, verdict: Verdict) -> None:
    """Add one answer."""
    tally.photos += 1
    told = size is not None and verdict in TOLD
    right = size is not None and (size.bsd, size.width) in truth
    tally.right += told and right
    tally.wrong_told += told and not right
    tally.wrong_sure += verdict is Verdict.SURE and not right
    tally.bsd += told and size is not None and size.bsd in {bsd for bsd, _ in truth}


def run(names: Sequence[str], photos: int, peers: int, carry: Path) -> str:
    """Render and read; the table as Markdown."""
    fonts = sorted((carry / "fonts/held-out").glob("*.?tf"))
    backgrounds = load_backgrounds(carry / "backgrounds/held-out")
    bank = NoiseBank(HELD_OUT_BANK, per_kind=2)
    rows = []
    for name in names:
        ours = Tally()
        others = {peer: Tally() for peer in PEERS}
        seconds = []
        for k in range(photos):
            shot = shoot(RECIPES[name], FIRST_SEED + k, fonts, backgrounds, bank=bank)
            part: PartKind = shot.part if shot.part in ("tyre", "rim") else "unknown"  # type: ignore[assignment]
            photo = Photo(f"{name}-{k}", shot.pixels, part)
            truth = truth_of(shot)
            began = time.perf_counter()
            reading = read([photo])
            seconds.append(time.perf_counter() - began)
            count(ours, truth, reading.best.size if reading.best else None, reading.verdict)
            if k < peers:
                for peer, tally in others.items():
                    seen: Sequence[Marking] = markings(photo, peer)
                    plain = resolve(seen, part, load_tables())
                    count(tally, truth, plain.best.size if plain.best else None, plain.verdict)
        rows.append(_row(name, ours, others, statistics.median(seconds)))
        print(rows[-1], flush=True)
    columns = ["kind", "photos", "right, told", "wrong, sure", "wrong, told", "s/photo"]
    columns += [f"{peer}, plainly" for peer in PEERS]
    head = "| " + " | ".join(columns) + " |"
    return "\n".join([head, "|---" * len(columns) + "|", *rows]) + "\n"


def _row(name: str, ours: Tally, others: dict[str, Tally], seconds: float) -> str:
    cells = [name, str(ours.photos), str(ours.right), str(ours.wrong_sure), str(ours.wrong_told)]
    cells.append(f"{seconds:.1f}")
    cells += [f"{t.right} of {t.photos}" for t in others.values()]
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    """Run and write the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--photos", type=int, default=20)
    parser.add_argument("--peers", type=int, default=8, help="photos a kind for the other engines")
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--carry", type=Path, default=Path("carry"))
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    table = run(args.kinds, args.photos, args.peers, args.carry)
    if args.out:
        args.out.write_text(table, encoding="utf-8")


if __name__ == "__main__":
    main()
