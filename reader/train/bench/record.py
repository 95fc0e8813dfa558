"""Record what finder, detectors and engines make of photographs, for `reader.ocr.replay`.

    python -m reader.train.bench.record --out fixtures/replay NAME=PHOTO ...

Every step of the cascade is taken on twice as many strips as it usually sees, and none ends the
reading, so that a recording still answers when steps change their order or their choice.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from reader.cascade import STEPS, View
from reader.detect.trace import Line
from reader.ocr import ENGINES
from reader.ocr.engine import Engine
from reader.ocr.replay import save
from reader.ocr.scene_find import Quad
from reader.photo.load import load
from reader.records import Hypothesis, Photo, Region, Strip
from reader.work import Work, real_tools

WIDER = 2  # times the strips that a step usually sees


@dataclass
class Kept:
    """An engine whose readings are kept."""

    engine: Engine
    heard: list[Hypothesis]
    name: str
    late: bool
    finds: bool

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """What the engine reads."""
        seen = self.engine.read(strips)
        self.heard.extend(seen)
        return seen

    def describe(self) -> str:
        """What the engine says of itself."""
        return self.engine.describe()

    def fingerprint(self) -> str:
        """What tells its readings from another's."""
        return self.engine.fingerprint()


def record(photo: Photo, path: Path) -> int:
    """Read a photo in every way and write what was seen; how many strips were read."""
    real = real_tools()
    looks: list[list[tuple[Region, bool]]] = []
    prints: list[Quad] = []
    heard: list[Hypothesis] = []

    def lines(of: Photo) -> Iterator[list[Line]]:
        for found in real.lines(of):
            looks.append([(line.region, line.is_open) for line in found])
            yield found

    def boxes(of: Photo) -> list[Quad]:
        prints.extend(real.prints(of))
        return prints

    def engine(name: str) -> Engine:
        kind = real.engine(name)
        return Kept(kind, heard, kind.name, kind.late, kind.finds)

    tools = replace(real, lines=lines, prints=boxes, engine=engine)
    work = Work(tuple(kind.name for kind in ENGINES), "world", tools)
    view = View(photo, work, tools.lines(photo))
    for step in STEPS:
        for _ in step.run(view, WIDER * step.budget):
            pass
    save(path, photo, looks, [(quad.corners, quad.score) for quad in prints], heard)
    return len(heard)


def main() -> None:
    """Record the photographs named on the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("photos", nargs="+", metavar="NAME=PHOTO")
    parser.add_argument("--out", type=Path, default=Path("fixtures/replay"))
    wanted = parser.parse_args()
    wanted.out.mkdir(parents=True, exist_ok=True)
    for text in wanted.photos:
        name, _, path = text.partition("=")
        target = wanted.out / f"{name}.npz"
        count = record(load(Path(path), name), target)
        print(f"{name}: {count} strips, {target.stat().st_size} bytes", flush=True)


if __name__ == "__main__":
    main()
