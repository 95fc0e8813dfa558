"""How many sizes clips give, beside stills: `python -m reader.train.bench.sweep`.

    python -m reader.train.bench.sweep --clips 30 --workers 16 --out FOLDER
    python -m reader.train.bench.sweep --group fit --alone --keep --out FOLDER
    python -m reader.train.bench.sweep --report FOLDER/sweep.csv

Clips of 3 seconds at 1920 x 1080 are drawn from frozen seeds (see sweep_sets), coded as H.264, and
read by spawned workers of one core each, by our own engine alone. Every row is written as soon as
it is known: the same command goes on where a run stopped. Needs the packs in carry/, torch, and
PyAV or x264 (see `encode`). `--keep` adds all looks to kept-0.bin and so on, for fitting numbers.
"""

from __future__ import annotations

import argparse
import csv
import math
import os
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from reader.train.bench import sweep_kept
from reader.train.bench.markdown import markdown
from reader.train.bench.rows import TOLD, Answer
from reader.train.bench.sweep_read import WAYS, SweepRow, answer, sit_down
from reader.train.bench.sweep_sets import FPS, SECONDS, cases
from reader.train.render.sweeps import KINDS

ROWS = "sweep.csv"
KNOWN = ("kind", "number", "seed", "part", "text", "truth", "cap", "looks", "stopped", "free")
ASKED = ("size", "verdict", "probability", "seconds")
COLUMNS = [*KNOWN, *(f"{way}: {name}" for way in WAYS for name in ASKED)]


def run(args: argparse.Namespace) -> int:
    """Read what is not in the table yet; returns how many clips failed."""
    args.out.mkdir(parents=True, exist_ok=True)
    table = args.out / ROWS
    known = {(row.kind, row.number) for row in load(table)}
    desk = (args.carry, args.device, [args.group], args.keep, not args.alone)
    failed, began = 0, time.monotonic()
    with ProcessPoolExecutor(
        args.workers, mp_context=get_context("spawn"), initializer=sit_down, initargs=desk
    ) as pool:
        jobs = {
            pool.submit(answer, case): case
            for case in cases(args.group, args.clips, args.kinds)
            if (case.kind, case.number) not in known
        }
        for job in as_completed(jobs):
            try:
                row, kept = job.result()
                append(table, row)
                if kept:
                    sweep_kept.append(args.out, kept)
            except Exception as error:  # one bad clip must not end the run; the row stays missing
                failed += 1
                print(f"{jobs[job]}: {type(error).__name__}: {error}", file=sys.stderr, flush=True)
            if time.monotonic() - began > args.minutes * 60:
                print(f"the {args.minutes:g} minutes are over", flush=True)
                pool.shutdown(wait=False, cancel_futures=True)
                for process in list((pool._processes or {}).values()):
                    process.terminate()
                break
    return failed


def append(path: Path, row: SweepRow) -> None:
    """Add a row to the CSV, with its heading if it is new."""
    new = not path.exists()
    with path.open("a", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS, restval="", lineterminator="\n")
        if new:
            writer.writeheader()
        cells: dict[str, object] = {name: _cell(getattr(row, name)) for name in KNOWN}
        for way, said in row.answers.items():
            cells |= {f"{way}: {name}": _cell(getattr(said, name)) for name in ASKED}
        writer.writerow(cells)


def _cell(value: object) -> object:
    return round(value, 4) if isinstance(value, float) else value


def load(path: Path) -> list[SweepRow]:
    """Rows of a CSV; none if there is no such file."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as stream:
        return [_row(cells) for cells in csv.DictReader(stream) if cells[COLUMNS[-1]] is not None]


def _row(cells: dict[str, str]) -> SweepRow:
    answers = {}
    for way in WAYS:
        size, verdict, probability, seconds = (cells[f"{way}: {name}"] for name in ASKED)
        if verdict:
            answers[way] = Answer(size, verdict, float(probability), float(seconds))
    return SweepRow(
        cells["kind"], int(cells["number"]), int(cells["seed"]), cells["part"], cells["text"],
        cells["truth"], float(cells["cap"]), int(cells["looks"]), float(cells["stopped"]),
        float(cells["free"]), answers,
    )  # fmt: skip


def again(table: Path, folder: Path) -> None:
    """Put the answers to kept looks in place of those in the table; times stay."""
    rows = {(row.kind, row.number): row for row in load(table)}
    for kept in sweep_kept.load(folder):
        row = rows[kept["case"].kind, kept["case"].number]
        told = Answer.of(sweep_kept.told_again(kept), row.answers["sweep"].seconds)
        rows[row.kind, row.number] = replace(row, answers=row.answers | {"sweep": told})
    table.unlink()
    for row in rows.values():
        append(table, row)


def outcome(row: SweepRow, way: str) -> str:
    """One of 'right', 'wrong, sure', 'wrong, told', "can't tell"."""
    said = row.answers[way]
    if not (said.size and said.verdict in TOLD):
        return "can't tell"
    if said.size in row.truth.split("|"):
        return "right"
    return "wrong, sure" if said.verdict == "sure" else "wrong, told"


def report(table: Path) -> str:
    """The report in Markdown."""
    rows = load(table)
    kinds = [kind for kind in KINDS if any(row.kind == kind for row in rows)]
    head = ["kind", "clips", *(f"{way}: right" for way in WAYS), "sweep: wrong", "of them sure"]
    body = [head]
    for kind in [*kinds, "all with a size"]:
        some = [r for r in rows if (r.kind == kind if kind in KINDS else bool(r.truth))]
        cells = [kind, str(len(some))]
        for way in WAYS:
            asked = [r for r in some if way in r.answers]
            right = sum(outcome(r, way) == "right" for r in asked)
            cells.append(f"{right} ({100 * right / len(asked):.0f} %)" if asked else "")
        ends = [outcome(r, "sweep") for r in some]
        cells += [str(sum(e.startswith("wrong") for e in ends)), str(ends.count("wrong, sure"))]
        body.append(cells)
    parts = [_intro(rows), markdown(body), _covered(rows), _wrong(rows), _costs(rows)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _intro(rows: Sequence[SweepRow]) -> str:
    return (
        "# Sweeps\n\nWritten by `python -m reader.train.bench.sweep`. "
        f"{len(rows)} drawn clips of {SECONDS:g} s, 1920 x 1080, {FPS:g} frames a second, H.264 at "
        "17 Mbit/s, legible or not, by our own engine alone; fonts, grounds, textures and seeds "
        "that nothing was trained or fitted on. 'Right' is the right size, told as sure or likely. "
        "'Best frame' is the sharpest one read as a photograph, 'three stills' the sharpest of "
        "each third read together, 'voted plainly' what most frames say, each read alone. With "
        f"so few clips the share of a kind can be off by {_off(rows, 'worn')}, that of all with a "
        f"size by {_off(rows, '')} (19 in 20 times)."
    )


def _off(rows: Sequence[SweepRow], kind: str) -> str:
    """By how much a share of these clips can be off at worst: the binomial's two deviations."""
    count = sum(bool(row.truth) and kind in row.kind for row in rows)
    return f"{196 * math.sqrt(0.25 / max(count, 1)):.0f} points"


def _covered(rows: Sequence[SweepRow]) -> str:
    """What the lamp leaves of the clips with glare."""
    glare = [row for row in rows if row.kind == "glare"]
    free = [row for row in glare if row.free == 1]
    if not glare:
        return ""
    right = sum(outcome(row, "sweep") == "right" for row in free)
    return (
        f"In {len(glare) - len(free)} of the {len(glare)} clips with glare the lamp lies on some "
        f"of the size line in every frame; of the {len(free)} others {right} were told right."
    )


def _wrong(rows: Sequence[SweepRow]) -> str:
    out = ["What was told wrong:", ""]
    for way in WAYS:
        ends = [outcome(row, way) for row in rows if way in row.answers]
        sure = sum(r.answers[way].verdict == "sure" for r in rows if way in r.answers)
        wrong = sum(end.startswith("wrong") for end in ends)
        out.append(
            f"- {way}: {wrong} of {len(ends)}, {ends.count('wrong, sure')} of them sure "
            f"(of {sure} sure in all)"
        )
    told = [row for row in rows if row.answers["sweep"].told]
    if told:
        mean = sum(row.answers["sweep"].probability for row in told) / len(told)
        right = sum(outcome(row, "sweep") == "right" for row in told)
        out.append("")
        out.append(
            f"{right} of the {len(told)} sizes that the sweep told are right "
            f"({100 * right / len(told):.0f} %); it gave them {100 * mean:.0f} % in the mean."
        )
    return "\n".join(out)


def _costs(rows: Sequence[SweepRow]) -> str:
    stopped = sorted(row.stopped for row in rows if row.stopped)
    spent = sorted(row.answers["sweep"].seconds for row in rows)
    if not spent:
        return ""
    sure = f"{len(stopped)} sweeps were sure before their clip ended"
    if stopped:
        sure += f", half of them after {stopped[len(stopped) // 2]:.1f} s of the clip"
    return (
        f"{sure}. From the file to the answer took {spent[len(spent) // 2]:.1f} s of one core's "
        f"time in the median and {spent[int(0.9 * (len(spent) - 1))]:.1f} s for 9 of 10, decoding "
        "included, many clips at a time; two quiet cores share that."
    )


def parse(arguments: Sequence[str] | None = None) -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.sweep", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--group", choices=("report", "fit"), default="report", help="which set")
    parser.add_argument("--kinds", nargs="*", choices=KINDS, default=list(KINDS), metavar="KIND")
    parser.add_argument("--clips", type=int, default=20, help="of a kind")
    parser.add_argument("--alone", action="store_true", help="only the sweep, nothing beside it")
    parser.add_argument("--keep", action="store_true", help="keep all looks, to fit numbers on")
    parser.add_argument("--minutes", type=float, default=1e6)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--device", default="cpu", help="where torch renders")
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    parser.add_argument("--out", type=Path, default=Path("out/sweep"))
    parser.add_argument("--again", type=Path, metavar="FOLDER", help="tell kept looks anew")
    parser.add_argument("--report", type=Path, metavar="CSV", help="only report on these rows")
    return parser.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Read, then write the table."""
    args = parse(arguments)
    failed = 0 if args.report else run(args)
    table = args.report or args.out / ROWS
    if args.again:
        again(table, args.again)
    text = report(table)
    table.with_suffix(".md").write_text(text, encoding="utf-8")
    print(text)
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
