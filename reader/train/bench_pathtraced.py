"""Read the pictures of `pathtraced.py`: `python -m reader.train.bench_pathtraced FOLDER`.

The tool was never trained on anything like them: rubber, metal, light and camera are another's.
Nobody tells it what part it sees.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path

from reader.pipeline import read_files
from reader.records import Verdict

STYLES = (("moulded", "printed"), ("rim, burnt in", "rim, sticker"))
INTRODUCTION = """# Tyres and rims drawn by a path tracer

Written by `python -m reader.train.bench_pathtraced FOLDER` from the pictures that
`reader/train/pathtraced.py` draws: another program's light, rubber, metal and camera, letters as
true geometry, close-ups of 1280 x 960 pixels. Right: sure or likely, with the pair's own numbers.

"""


def rows(folder: Path) -> Iterator[tuple[str, str, str]]:
    """Text shown, answer, outcome; picture by picture."""
    for line in (folder / "truth.jsonl").read_text(encoding="utf-8").splitlines():
        shown = json.loads(line)
        reading = read_files([folder / f"{shown['number']:03d}.jpg"])
        told = reading.verdict in (Verdict.SURE, Verdict.LIKELY)
        size = str(reading.best.size) if reading.best else "none"
        right = size == shown["pair"]
        outcome = ("right" if right else "WRONG") if told else "not told"
        style = STYLES[bool(shown.get("rim"))][bool(shown["printed"])]
        style += ", upside down" if shown["flip"] else ""
        yield f"{shown['text']} ({style})", f"{size}, {reading.verdict}", outcome


def main() -> None:
    """Write bench_pathtraced.md."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, default=Path("reader/train/bench_pathtraced.md"))
    args = parser.parse_args()
    found = list(rows(args.folder))
    counts = {name: sum(row[2] == name for row in found) for name in ("right", "WRONG", "not told")}
    total = ", ".join(f"{name} {count} of {len(found)}" for name, count in counts.items())
    table = ["| shown | answer | outcome |", "|---|---|---|"]
    table += [f"| {' | '.join(row)} |" for row in found]
    args.out.write_text(f"{INTRODUCTION}{total}.\n\n" + "\n".join(table) + "\n", encoding="utf-8")
    print(total)


if __name__ == "__main__":
    main()
