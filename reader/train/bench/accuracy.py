"""How many sizes come out right, beside general engines: `python -m reader.train.bench.accuracy`.

    python -m reader.train.bench.accuracy --photos 100 --peers 30 --lines 2000 \
        --workers 30 --device cuda --out FOLDER
    python -m reader.train.bench.accuracy --report FOLDER/accuracy.csv

Photographs and lines are drawn from frozen seeds (see bench_sets and bench_lines) and read by
spawned worker processes of one core each, which render on the device too. Every row is written as
soon as it is known: the same command goes on where an interrupted run stopped. At the end, or with
--report, accuracy.md and the plots are made from accuracy.csv and lines.csv in the same folder.
Needs the packs in carry/ (see fonts and backgrounds) and the `train` extra.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, as_completed
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reader.train.bench import lines as bench_lines
from reader.train.bench import rows as bench_rows
from reader.train.bench.read import answer, sit_down
from reader.train.bench.report import write_report
from reader.train.bench.sets import KINDS, Case
from reader.train.render.batch import crew

ROWS, LINES = "accuracy.csv", "lines.csv"
MOST_WHOLE = 30  # photos of 12 megapixels, unless fewer are asked for


def cases(kinds: Sequence[str], photos: int) -> Iterator[Case]:
    """All cases, kind by kind in turn, so that a run cut short has some of each."""
    for number in range(photos):
        for kind in kinds:
            if not (kind.startswith("whole") and number >= MOST_WHOLE):
                yield Case(kind, number)


def run(args: argparse.Namespace) -> int:
    """Read what is not in the folder's tables yet; returns how many cases failed."""
    args.out.mkdir(parents=True, exist_ok=True)
    rows, lines = args.out / ROWS, args.out / LINES
    known = {(row.kind, row.number) for row in bench_rows.load(rows)}
    batches = {row.batch for row in bench_lines.load(lines)}
    desk = (args.carry, args.device, args.tell_part)
    with crew(args.workers, args.device, sit_down, *desk) as pool:
        jobs: dict[Future[Any], str] = {}
        for batch in range(-(-args.lines // bench_lines.BATCH)):
            if batch not in batches:
                jobs[pool.submit(bench_lines.read_batch, batch)] = f"lines {batch}"
        for case in cases(args.kinds, args.photos):
            if (case.kind, case.number) not in known:
                job = pool.submit(answer, case, case.number < args.peers)
                jobs[job] = f"{case.kind} {case.number}"
        return Clerk(args.minutes, rows, lines, jobs).gather()


@dataclass
class Clerk:
    """Writes results as they come, until all are there or the time is over."""

    minutes: float
    rows: Path
    lines: Path
    jobs: dict[Future[Any], str]
    failed: int = 0
    done: int = 0
    began: float = field(default_factory=time.monotonic)

    def gather(self) -> int:
        """Write everything; returns how many jobs failed."""
        kept: set[Future[Any]] = set()
        for job in as_completed(self.jobs):
            kept.add(job)
            self._keep(job)
            if time.monotonic() - self.began > self.minutes * 60:
                break
        for job in self.jobs:
            job.cancel()
        begun = [job for job in self.jobs if job not in kept and not job.cancelled()]
        if len(kept) + len(begun) < len(self.jobs):
            print(f"the {self.minutes:g} minutes are over: finishing {len(begun)}", flush=True)
        for job in as_completed(begun):
            self._keep(job)
        return self.failed

    def _keep(self, job: Future[Any]) -> None:
        try:
            result = job.result()
        except Exception as error:  # one bad photo must not end the run; the row stays missing
            self.failed += 1
            print(f"{self.jobs[job]}: {type(error).__name__}: {error}", file=sys.stderr, flush=True)
            return
        if isinstance(result, list):
            bench_lines.append(self.lines, result)
        else:
            bench_rows.append(self.rows, [result])
        self.done += 1
        if self.done % 20 == 0 or self.done == len(self.jobs):
            spent = time.monotonic() - self.began
            print(f"{spent:.0f} s: {self.done} of {len(self.jobs)}", flush=True)


def parse(arguments: Sequence[str] | None = None) -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.bench.accuracy", description=__doc__
    )
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--kinds", nargs="*", choices=KINDS, default=list(KINDS), metavar="KIND")
    parser.add_argument("--photos", type=int, default=100, help="parts of a kind")
    parser.add_argument("--peers", type=int, default=30, help="of them for the general engines too")
    parser.add_argument("--lines", type=int, default=2000, help="single lines of moulded lettering")
    parser.add_argument("--tell-part", action="store_true", help="say whether it is tyre or rim")
    parser.add_argument("--minutes", type=float, default=1e6, help="then finish what has begun")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--device", default="cpu", help="where torch renders")
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    parser.add_argument("--out", type=Path, default=Path("out/bench"))
    parser.add_argument("--report", type=Path, metavar="CSV", help="only report on these rows")
    return parser.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Read, then write table and plots."""
    args = parse(arguments)
    failed = 0
    if not args.report:
        failed = run(args)
    rows = args.report or args.out / ROWS
    print(write_report(rows, rows.with_name(LINES)))
    if failed:
        print(f"{failed} failed; the same command tries them again", file=sys.stderr)
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
