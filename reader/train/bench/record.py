"""Record what finder, detectors and engines make of photographs, for `reader.ocr.replay`.

    python -m reader.train.bench.record --out fixtures/replay NAME=PHOTO ...
    python -m reader.train.bench.record --again --real FOLDER --minutes 7
    python -m reader.train.bench.record --again --real FOLDER --keep

The second records every photo of truth.csv again that was not yet recorded by the present steps,
models and cuts; the same command goes on where it stopped. FOLDER holds the real photographs, which
are not in the repository; without it theirs stay as they are. With --keep what was recorded before
stays, and only strips that it lacks are read: for a change of the steps, not of a model.

Every step of the cascade is taken on twice as many strips as it usually sees, and none ends the
reading, so that a recording still answers when steps change their order or their choice.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from reader.cascade import STEPS
from reader.checksums import DATA
from reader.detect.trace import Line
from reader.errors import EngineError
from reader.ocr import ENGINES
from reader.ocr.engine import Engine
from reader.ocr.replay import Recording, save, stamp_of
from reader.ocr.replay import load as recorded
from reader.ocr.scene_find import Quad
from reader.photo.load import load
from reader.photo.rectify import flip
from reader.records import Hypothesis, Photo, Region, Strip
from reader.view import CUTS, MORE_CUTS, OURS, View, deciding, in_other_cuts
from reader.work import Work, real_tools

AT_MOST_CLEAR = 12  # lines that may say a size clearly
REAL = "real-"  # what names of real photographs begin with
WIDER = 2  # times the strips that a step usually sees


@dataclass
class Kept:
    """An engine whose readings are kept; what an earlier recording holds is not read again."""

    engine: Engine
    heard: list[Hypothesis]
    name: str
    late: bool
    finds: bool
    before: Recording | None = None

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """What the engine reads."""
        known = [self._known(strip) for strip in strips]
        new = [strip for strip, seen in zip(strips, known, strict=True) if seen is None]
        fresh = iter(self.engine.read(new) if new else ())
        seen = [next(fresh) if one is None else one for one in known]
        self.heard.extend(seen)
        return seen

    def _known(self, strip: Strip) -> Hypothesis | None:
        if self.before is None:
            return None
        try:
            return self.before.engine(self.name).read([strip])[0]
        except EngineError:
            return None

    def describe(self) -> str:
        """What the engine says of itself."""
        return self.engine.describe()

    def fingerprint(self) -> str:
        """What tells its readings from another's."""
        return self.engine.fingerprint()


def record(photo: Photo, path: Path, before: Recording | None = None) -> int:
    """Read a photo in every way and write what was seen; how many strips were read."""
    real = real_tools()
    looks: list[list[tuple[Region, bool]]] = []
    prints: list[Quad] = []
    heard: list[Hypothesis] = []

    def lines(of: Photo) -> Iterator[list[Line]]:
        for found in real.lines(of) if before is None else _lines_of(before, of):
            looks.append([(line.region, line.is_open) for line in found])
            yield found

    def boxes(of: Photo) -> list[Quad]:
        known = [] if before is None else [Quad(corners, s) for corners, s in before.prints]
        prints.extend(known or real.prints(of))
        return prints

    def engine(name: str) -> Engine:
        kind = real.engine(name)
        return Kept(kind, heard, kind.name, kind.late, kind.finds, before)

    tools = replace(real, lines=lines, prints=boxes, engine=engine)
    work = Work(tuple(kind.name for kind in ENGINES), "world", tools)
    view = View(photo, work, tools.lines(photo))
    for step in STEPS:
        for _ in step.run(view, WIDER * step.budget):
            pass
    clear = deciding(photo, work, WIDER * AT_MOST_CLEAR)
    work.read(OURS, view.lay(in_other_cuts(clear)))
    found = [(quad.corners, quad.score) for quad in prints]
    save(path, photo, looks, found, heard, stamp())
    return len(heard)


def _lines_of(before: Recording, photo: Photo) -> Iterator[list[Line]]:
    """The lines that the finder told then, on the photo with its pixels."""
    for look in before.looks:
        regions = [(replace(region, photo=photo), is_open) for region, is_open in look]
        yield [Line(region, flip(region), is_open) for region, is_open in regions]


def stamp() -> str:
    """What decides what a recording holds: the steps, the cuts, our models."""
    models = (DATA / name for name in ("finder.onnx", "moulded.onnx"))
    sums = [hashlib.blake2b(path.read_bytes(), digest_size=8).hexdigest() for path in models]
    return " ".join(
        [*(f"{one.name} {one.budget}" for one in STEPS), str(CUTS), str(MORE_CUTS), *sums]
    )


def again(out: Path, real: Path | None, minutes: float) -> Iterator[tuple[str, Path]]:
    """Names and files of the photographs that want recording, until the minutes are over."""
    until, mine = time.monotonic() + minutes * 60, stamp()
    for row in csv.DictReader((out / "truth.csv").open(encoding="utf-8")):
        file = Path(row["file"])
        if row["name"].startswith(REAL):
            file = (real or Path("-")) / f"{row['name'].removeprefix(REAL)}.jpg"
        if stamp_of(out / f"{row['name']}.npz") == mine or not file.is_file():
            continue
        if time.monotonic() > until:
            return
        yield row["name"], file


def main() -> None:
    """Record the photographs named on the command line, or all again."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("photos", nargs="*", metavar="NAME=PHOTO")
    parser.add_argument("--again", action="store_true", help="every photo of truth.csv")
    parser.add_argument("--keep", action="store_true", help="read only what was not recorded yet")
    parser.add_argument("--real", type=Path, help="folder of the real photographs")
    parser.add_argument("--minutes", type=float, default=1e6, help="then stop")
    parser.add_argument("--out", type=Path, default=Path("fixtures/replay"))
    wanted = parser.parse_args()
    wanted.out.mkdir(parents=True, exist_ok=True)
    named = ((name, Path(file)) for name, _, file in (one.partition("=") for one in wanted.photos))
    for name, file in again(wanted.out, wanted.real, wanted.minutes) if wanted.again else named:
        target = wanted.out / f"{name}.npz"
        before = recorded(target) if wanted.keep and target.exists() else None
        count = record(load(file, name), target, before)
        print(f"{name}: {count} strips, {target.stat().st_size} bytes", flush=True)


if __name__ == "__main__":
    main()
