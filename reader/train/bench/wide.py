"""Whole wheels and busy walls: what is told, in what time, and where reading fails.

    python -m reader.train.bench.wide --photos 60 --workers 30 --device cuda --out FOLDER
    python -m reader.train.bench.wide --report FOLDER/wide.csv

Photographs of 12 megapixels (see wide_shots) are read as `tyremark read` reads them, with its
patience, one core a worker. Every row is written as soon as it is known, so that the same command
goes on where it stopped. At the end, or with --report, wide.md is made from wide.csv in the same
folder. Needs the packs in carry/ and the `train` extra; engines that are missing are left out.
"""

from __future__ import annotations

import argparse
import csv
import os
import sys
import time
from collections.abc import Sequence
from concurrent.futures import as_completed
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np

from reader.cascade import PATIENCE, SPENT, read_photo
from reader.ocr import ENGINES
from reader.records import Floats, Photo, Region
from reader.resolve.resolve import resolve
from reader.tables import load_tables
from reader.train.bench.rows import OURS, Answer, Row
from reader.train.bench.sets import spelled
from reader.train.bench.wide_report import report
from reader.train.bench.wide_shots import KINDS, Wide, show
from reader.train.render.batch import crew, one_core, tidy
from reader.train.render.samples import Studio
from reader.work import Work

ROWS = "wide.csv"
ALONG = (0.15, 0.5, 0.85)  # of a size line, where a found line must run
BESIDE = 0.6  # capital heights that it may be off there
LIKE = 1.8  # times as high at most


@dataclass(frozen=True)
class Trial:
    """One photograph as it was read; `stage` is 'told' or where reading ended."""

    kind: str
    number: int
    text: str
    truth: str
    clarity: float
    cap: float
    lines: int  # regions that were looked at
    stage: str  # 'told', 'not found', 'not read', 'not settled'
    size: str
    verdict: str
    bsd: int  # of the diameter that was told, 0 for none
    right: bool  # the size told, widths included
    seconds: float  # of the processor
    spent: bool  # whether patience ended it


DESK: list[tuple[Studio, tuple[str, ...], AbstractContextManager[Any]]] = []  # one in each worker


def sit_down(carry: Path, device: str, engines: tuple[str, ...], turn: Any) -> None:
    """Set a worker process up; `turn` bounds how many render at once."""
    one_core()
    DESK[:] = [(Studio.open(carry, device), engines, turn)]


def attempt(case: Wide) -> Trial:
    """Draw and read one photograph."""
    studio, engines, turn = DESK[0]
    with turn:
        shown = show(case, studio)
        tidy(studio.device)
    photo = Photo(f"{case.kind} {case.number}", shown.pixels)
    work = Work(engines, "world")
    began = work.tools.seconds()
    read_photo(photo, work, lambda step, share: None, PATIENCE)
    reading = resolve(work.markings, "unknown", load_tables())
    seconds = work.tools.seconds() - began
    answer = Answer.of(reading, seconds)
    row = Row(case.kind, case.number, case.seed, 1, "tyre", shown.text, spelled(shown.truth),
              shown.clarity, shown.cap, "", {OURS: answer})  # fmt: skip
    told = reading.diameter.told
    if told:
        stage = "told"
    elif not any(_lies_on(region, shown.outline, shown.cap) for region in work.regions):
        stage = "not found"
    elif not any(_bare(shown.text) in _bare(one.text) for one in work.hypotheses):
        stage = "not read"
    else:
        stage = "not settled"
    return Trial(
        case.kind, case.number, shown.text, spelled(shown.truth), round(shown.clarity, 3),
        round(shown.cap, 1), len(work.regions), stage, answer.size,
        str(reading.diameter.verdict), int(reading.diameter.value or 0) if told else 0,
        row.outcome(OURS) == "right", round(seconds, 2), SPENT in work.notes,
    )  # fmt: skip


def _bare(text: str) -> str:
    return "".join(sign for sign in text.upper() if sign.isalnum())


def _lies_on(region: Region, outline: Floats, cap: float) -> bool:
    """Whether a region runs along a size line, at about its height."""
    if not cap / LIKE <= region.height <= cap * LIKE:
        return False
    first, last = (outline[0] + outline[3]) / 2, (outline[1] + outline[2]) / 2
    line = region.centreline.astype(np.float64)
    steps = [np.linspace(a, b, 24) for a, b in zip(line[:-1], line[1:], strict=True)]
    dense = np.concatenate(steps)
    spots = [first + share * (last - first) for share in ALONG]
    return all(np.hypot(*(dense - spot).T).min() <= BESIDE * cap for spot in spots)


def load(path: Path) -> list[Trial]:
    """Rows of a table; none if there is no such file. A row cut short by a kill is left out."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as stream:
        whole = [row for row in csv.DictReader(stream) if row["spent"]]
    return [_trial(row) for row in whole]


def _trial(row: dict[str, str]) -> Trial:
    kinds: dict[str, Any] = {"str": str, "int": int, "float": float, "bool": "True".__eq__}
    return Trial(**{one.name: kinds[str(one.type)](row[one.name]) for one in fields(Trial)})


def append(path: Path, trial: Trial) -> None:
    """Add a row, with the heading if the file is new."""
    new = not path.exists()
    with path.open("a", encoding="utf-8", newline="") as stream:
        names = [one.name for one in fields(Trial)]
        writer = csv.DictWriter(stream, names, lineterminator="\n")
        if new:
            writer.writeheader()
        writer.writerow(asdict(trial))


def run(args: argparse.Namespace) -> int:
    """Read what the table lacks, until the minutes are over; returns how many failed."""
    args.out.mkdir(parents=True, exist_ok=True)
    path = args.out / ROWS
    known = {(one.kind, one.number) for one in load(path)}
    wanted = [Wide(kind, number) for number in range(args.photos) for kind in args.kinds]
    until, failed = time.monotonic() + args.minutes * 60, 0
    with crew(args.workers, args.device, sit_down, args.carry, args.device, args.engines) as pool:
        jobs = {
            pool.submit(attempt, case): case
            for case in wanted
            if (case.kind, case.number) not in known
        }
        for done, job in enumerate(as_completed(jobs), 1):
            if job.cancelled():
                continue
            try:
                append(path, job.result())
            except Exception as error:  # one bad photo must not end the run
                failed += 1
                print(f"{jobs[job]}: {error}", file=sys.stderr, flush=True)
            if done % 10 == 0:
                print(f"{done} of {len(jobs)}", flush=True)
            if time.monotonic() > until:
                for other in jobs:
                    other.cancel()
    return failed


def main(arguments: Sequence[str] | None = None) -> int:
    """Read, then write the table."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.wide", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--kinds", nargs="*", choices=KINDS, default=list(KINDS), metavar="KIND")
    parser.add_argument("--photos", type=int, default=60, help="of each kind")
    parser.add_argument("--minutes", type=float, default=1e6, help="then finish what has begun")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--device", default="cpu", help="where torch renders")
    parser.add_argument("--engines", nargs="*", default=[one.name for one in ENGINES])
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    parser.add_argument("--out", type=Path, default=Path("out/wide"))
    parser.add_argument("--report", type=Path, metavar="CSV", help="only report on these rows")
    args = parser.parse_args(arguments)
    args.engines = tuple(args.engines)
    failed = 0 if args.report else run(args)
    rows = args.report or args.out / ROWS
    text = report(load(rows))
    rows.with_name("wide.md").write_text(text, encoding="utf-8")
    print(text)
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
