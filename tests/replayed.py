"""Recorded photographs through the whole cascade and the resolver, without pixels or models."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from reader import cascade
from reader.cascade import Step, read_photo
from reader.detect.trace import Line
from reader.ocr import ENGINES
from reader.ocr.replay import Recording, load
from reader.ocr.scene_find import Quad
from reader.photo.rectify import flip
from reader.records import PartKind, Reading, Strip, Verdict
from reader.resolve.resolve import resolve
from reader.tables import load_tables
from reader.work import Tools, Work

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "fixtures" / "replay"
NAMES = sorted(path.stem for path in FOLDER.glob("*.npz"))
BLANK = np.zeros((1, 1), np.uint8)


def tools_of(recording: Recording) -> Tools:
    """What stands in for finder, detectors, engines and clock."""
    looks = [
        [Line(region, flip(region), is_open) for region, is_open in look]
        for look in recording.looks
    ]
    return Tools(
        lines=lambda photo: iter(looks),
        prints=lambda photo: [Quad(corners, score) for corners, score in recording.prints],
        straighten=lambda region: Strip(region, BLANK),
        enhance=lambda strip, variant: replace(strip, variant=variant),
        engine=recording.engine,
        seconds=lambda: 0.0,
    )


def replay(
    name: str, part: PartKind = "unknown", steps: Sequence[Step] | None = None
) -> tuple[Reading, list[str], Recording]:
    """The reading of a recorded photo, the names of the steps taken, and the recording."""
    return play(load(FOLDER / f"{name}.npz", part), steps)


def play(
    recording: Recording, steps: Sequence[Step] | None = None
) -> tuple[Reading, list[str], Recording]:
    """The same of an opened recording."""
    known = {kept.engine for kept in recording.kept}
    engines = tuple(kind.name for kind in ENGINES if kind.name in known)
    work = Work(engines, "world", tools_of(recording))
    taken: list[str] = []
    all_steps = cascade.STEPS
    cascade.STEPS = tuple(all_steps if steps is None else steps)
    try:
        read_photo(recording.photo, work, lambda step, share: taken.append(step))
    finally:
        cascade.STEPS = all_steps
    return resolve(work.markings, recording.photo.part, load_tables()), taken, recording


def told(reading: Reading) -> tuple[str, str, str]:
    """Size, verdict and kind of part, as verdicts.csv has them: what is not told is no answer."""
    if reading.best is None or reading.verdict not in (Verdict.SURE, Verdict.LIKELY):
        return "", str(reading.verdict), "unknown"
    return str(reading.best.size), str(reading.verdict), reading.part


def write_verdicts(path: Path = FOLDER / "verdicts.csv") -> None:
    """Write down what is told of every recording; `git diff` then shows what a change did."""
    with path.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(("name", "size", "verdict", "part", "last_step"))
        for name in NAMES:
            reading, steps, _ = replay(name)
            rows.writerow((name, *told(reading), steps[-1]))


if __name__ == "__main__":
    write_verdicts()
