"""Read the pictures of `pathtraced.py`: `python -m reader.train.bench.pathtraced FOLDER`.

The tool was never trained on anything like them: rubber, metal, light and camera are another's.
Nobody tells it what part it sees. Each is read as it is, and set into photographs of 12 megapixels.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from reader.photo.load import load
from reader.pipeline import read
from reader.records import Verdict
from reader.train.bench.markdown import markdown
from reader.train.render.surroundings import KINDS, set_into

OUTCOMES = ("right", "WRONG", "not told")
STYLES = (("moulded", "printed"), ("rim, burnt in", "rim, sticker"))
INTRODUCTION = """# Tyres and rims drawn by a path tracer

Written by `python -m reader.train.bench.pathtraced FOLDER` from the pictures that
`reader/train/pathtraced.py` draws: another program's light, rubber, metal and camera, letters as
true geometry, close-ups of 1280 x 960 pixels. Right: sure or likely, with the pair's own numbers.
Read as they are, and set into pictures of 4000 x 3000 pixels (`surroundings.py`) with letters as
large as before: then the finder has ten times as much to overlook them in.

"""


def rows(folder: Path, backgrounds: Path, around: str = "") -> Iterator[tuple[str, str, str]]:
    """Text shown, answer, outcome; picture by picture, in surroundings of a kind or as drawn."""
    for line in (folder / "truth.jsonl").read_text(encoding="utf-8").splitlines():
        shown = json.loads(line)
        number = shown["number"]
        photo = load(folder / f"{number:03d}.jpg")
        if around:
            photo = replace(photo, pixels=set_into(photo.pixels, around, number, backgrounds))
        reading = read([photo])
        told = reading.verdict in (Verdict.SURE, Verdict.LIKELY)
        size = str(reading.best.size) if reading.best else "none"
        right = size == shown["pair"]
        outcome = ("right" if right else "WRONG") if told else "not told"
        style = STYLES[bool(shown.get("rim"))][bool(shown["printed"])]
        style += ", upside down" if shown["flip"] else ""
        yield f"{shown['text']} ({style})", f"{size}, {reading.verdict}", outcome


def total(found: list[tuple[str, str, str]]) -> list[str]:
    """How many came out how."""
    counts = Counter(outcome for _, _, outcome in found)
    return [f"{counts[name]} of {len(found)}" for name in OUTCOMES]


def main() -> None:
    """Write pathtraced.md."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--backgrounds", type=Path, default=Path("carry/backgrounds/held-out"))
    parser.add_argument("--out", type=Path, default=Path("reader/train/bench/pathtraced.md"))
    args = parser.parse_args()
    found = list(rows(args.folder, args.backgrounds))
    totals = [["around the picture", *OUTCOMES], ["nothing", *total(found)]]
    for kind in KINDS:
        totals.append([kind, *total(list(rows(args.folder, args.backgrounds, kind)))])
    each = markdown([["shown", "answer", "outcome"], *(list(row) for row in found)])
    text = f"{INTRODUCTION}{markdown(totals)}\n\n## As drawn\n\n{each}\n"
    args.out.write_text(text, encoding="utf-8")
    print(markdown(totals))


if __name__ == "__main__":
    main()
