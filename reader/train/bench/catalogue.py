"""Measures the catalogue: search, tally, overhead a photo, use of cores, and random kills.

`python -m reader.train.bench.catalogue` prints the table that stands in catalogue.md. The
reader is a stand-in that computes for a set time, so that the catalogue's own cost shows.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import os
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from reader.catalogue import (
    fits,
    open_catalogue,
    pairs,
    read_list,
    search,
    tally,
    write_list,
)
from reader.catalogue.db.canonical import dump
from reader.catalogue.db.check import assure_whole
from reader.catalogue.db.own_server import database, postgres
from reader.catalogue.db.records import Findings, Share
from reader.catalogue.intake.intake import take_in
from reader.catalogue.intake.jobs import Job, Outcome
from reader.catalogue.intake.workers import LocalCrew
from reader.catalogue.query.tally import BYS
from reader.fit.parts import Rim, RimKind, Tyre
from reader.records import Size
from reader.tables import load_tables
from reader.train.bench.heap import TYRES, fill

Row = tuple[str, str]


_FIRST: list[tuple[float, float]] = []


def wanted() -> tuple[float, float]:
    """The clock, and how long this process ran or stood in the queue for a core, in seconds."""
    running, queued, _ = Path("/proc/self/schedstat").read_text().split()
    return time.time(), (int(running) + int(queued)) / 1e9


def compute(job: Job, seconds: float, log: Path | None = None) -> Outcome:
    """A stand-in for reading: keeps one core busy for `seconds` of its own time a photo.

    Notes under `log` how long this process has lived since its first job, and wanted a core.
    """
    _FIRST[:] = _FIRST[:1] or [wanted()]
    start = time.process_time()
    while time.process_time() - start < seconds * len(job.photos):
        hashlib.blake2b(b"work" * 4096).digest()
    if log is not None:
        clock, want = wanted()
        text = f"{clock - _FIRST[0][0]} {want - _FIRST[0][1]}"
        (log / str(os.getpid())).write_text(text)
    number = int(job.photos[0].digest[:8], 16)
    width, bsd = TYRES[number % len(TYRES)]
    share = Share("tyre", bsd, float(width), 0.9)
    return Outcome(Findings("likely", "tyre", (share,), "{}", b"x" * 4000))


def median_ms(act: Callable[[], object], times: int = 9) -> str:
    """Median time of a call, by the clock and of the processor (others use the machine too)."""
    taken, worked = [], []
    for _ in range(times):
        start, own = time.perf_counter(), time.process_time()
        act()
        taken.append(time.perf_counter() - start)
        worked.append(time.process_time() - own)
    clock, processor = (statistics.median(column) * 1000 for column in (taken, worked))
    return f"{clock:.1f} ms (processor {processor:.1f} ms)"


def ask(count: int, where: str, keep: Path) -> None:
    """Print the questions asked of one database, row by row; `where` is sqlite or postgresql.

    A file stays in `keep`, so that a stopped filling goes on there.
    """
    print(f"\n| {count:,} parts | {where} |\n|---|---|")
    with contextlib.ExitStack() as stack:
        place: Path | str = keep / f"{count}.db"
        if where != "sqlite":
            place = database(stack.enter_context(postgres()), f"heap_{count}")
        for what, measured in questions(place, count):
            print(f"| {what} | {measured} |", flush=True)


def questions(where: Path | str, count: int) -> Iterator[Row]:
    """Search and tally over many parts."""
    catalogue = open_catalogue(where)
    yield "filling", seconds(lambda: fill(catalogue, count))
    tables = load_tables()
    rim, tyre = Rim(Size(622, 19), RimKind.CROCHET), Tyre(Size(622, 37))
    asked: dict[str, Callable[[], object]] = {
        "search: diameter and width": lambda: search(catalogue, bsd=622, width=(28, 37)),
        "search: bin": lambda: search(catalogue, bin="bin 3"),
        "search: rims of 36 holes": lambda: search(catalogue, kind="rim", facts={"holes": 36}),
        "search: text that stands nowhere": lambda: search(catalogue, text="zzz"),
        "search: text in a note": lambda: search(catalogue, text="job 1234"),
        "search: what fits 622x19C": lambda: fits(catalogue, rim, tables),
        "search: rims for 37-622": lambda: fits(catalogue, tyre, tables),
        "search: what fits, one bin": lambda: fits(catalogue, rim, tables, "bin 3"),
    }
    for name, act in asked.items():
        yield name, median_ms(act, 5)
    for by in BYS:
        yield f"tally by {by}", median_ms(partial(tally, catalogue, by), 1)
    yield "pairs, one bin", median_ms(lambda: pairs(catalogue, tables, "bin 3"), 1)
    catalogue.close()


def lists(folder: Path, count: int) -> Iterator[Row]:
    """Lists out of the filled catalogue, into an empty one, and once more into the same."""
    full, empty = open_catalogue(folder / "many.db"), open_catalogue(folder / "empty.db")
    fill(full, count)
    for suffix in (".csv", ".parquet"):
        path = folder / f"list{suffix}"
        yield f"export to {suffix}, {count:,} parts", seconds(partial(write_list, full, path))
    path = folder / "list.csv"
    yield f"import of {count:,} new parts", seconds(lambda: read_list(empty, path))
    yield f"import of {count:,} known parts", seconds(lambda: read_list(empty, path))
    again = folder / "again.csv"
    write_list(empty, again)
    same = "the same file" if again.read_bytes() == path.read_bytes() else "NOT the same file"
    yield "export, import, export", same
    text = path.read_text(encoding="utf-8").replace(",bin 3", ",rack 3")
    path.write_text(text, encoding="utf-8")
    yield f"import that moves one in four of {count:,}", seconds(lambda: read_list(empty, path))
    yield "look for damage at opening", seconds(lambda: assure_whole(empty))


def seconds(act: Callable[[], object]) -> str:
    """Time of one call, by the clock and of the processor."""
    start, own = time.perf_counter(), time.process_time()
    act()
    took, worked = time.perf_counter() - start, time.process_time() - own
    return f"{took:.1f} s (processor {worked:.1f} s)"


def photos(folder: Path, parts: int, each: int, size: int) -> Path:
    """Files of random bytes, one folder a part."""
    root = folder / "photos"
    for part in range(parts):
        here = root / f"{part:05}"
        here.mkdir(parents=True)
        for number in range(each):
            (here / f"{number}.jpg").write_bytes(random.Random(f"{part} {number}").randbytes(size))
    return root


def intake(folder: Path, parts: int, each: int, seconds: float, size: int) -> Iterator[Row]:
    """Overhead a photo, use of the cores while reading, and memory."""
    root = photos(folder, parts, each, size)
    workers = len(os.sched_getaffinity(0))
    catalogue = open_catalogue(folder / "intake.db")
    log = folder / "log"
    log.mkdir()
    own_time = time.process_time()
    read = partial(compute, seconds=seconds, log=log)
    take_in(catalogue, [root], lambda: LocalCrew(read, workers))
    own_time = time.process_time() - own_time
    lived, want = (sum(map(float, column)) for column in zip(*_logged(log), strict=True))
    count = parts * each
    name = f"{count:,} photos of {size / 1e6:g} MB, {seconds:g} s each"
    yield f"use of {workers} cores while reading, {name}", f"{100 * want / lived:.1f} %"
    yield "overhead a photo: the main process's own time", f"{own_time / count * 1000:.1f} ms"
    idle = (lived - want) / count * 1000
    yield "overhead a photo: workers waiting for work", f"{idle:.1f} ms"
    start = time.perf_counter()
    take_in(catalogue, [root], lambda: LocalCrew(read, workers))
    took = (time.perf_counter() - start) / count * 1000
    yield "second run, nothing new, a photo", f"{took:.2f} ms"


def memory(folder: Path) -> Iterator[Row]:
    """Peak memory of the main process for few and for many photos; each in a process of its own."""
    for parts in (500, 5000):
        here = folder / str(parts)
        root = photos(here, parts, 2, 2000)
        program = [sys.executable, "-m", "reader.train.bench.catalogue", "--only-intake"]
        places = [str(root), str(here / "parts.db"), "0.001"]
        told = subprocess.run([*program, *places], check=True, capture_output=True, text=True)
        yield f"memory of the main process, {2 * parts:,} photos", f"{told.stdout.strip()} MiB"


def _logged(log: Path) -> list[list[str]]:
    return [path.read_text().split() for path in log.iterdir()]


def killed(folder: Path, kills: int, count: int) -> Iterator[Row]:
    """kill -9 at random moments, started again each time; compare with an undisturbed run."""
    root = photos(folder, count // 2, 2, 2000)
    choose = random.Random(7)
    program = [sys.executable, "-m", "reader.train.bench.catalogue", "--only-intake", str(root)]
    done = 0
    while done < kills:
        process = subprocess.Popen(
            [*program, str(folder / "killed.db"), "0.04"], stdout=subprocess.DEVNULL
        )
        time.sleep(choose.uniform(0.2, 1.6))
        if process.poll() is None:
            process.send_signal(signal.SIGKILL)
        process.wait()
        done += 1
    for name in ("killed.db", "whole.db"):
        command = [*program, str(folder / name), "0.04"]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    one, other = (
        "\n".join(dump(open_catalogue(folder / name))).encode()
        for name in ("killed.db", "whole.db")
    )
    same = "the same" if one == other else "NOT the same"
    yield f"killed {kills} times during {count} photos", f"{same} ({len(one):,} bytes compared)"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only-intake", nargs=3, metavar=("FOLDER", "CATALOGUE", "SECONDS"))
    parser.add_argument("--parts", type=int, default=100_000)
    parser.add_argument("--questions", type=int, nargs="+", metavar="PARTS", help="only these")
    parser.add_argument("--on", nargs="+", default=["sqlite", "postgresql"])
    parser.add_argument("--keep", type=Path, help="folder; goes on with what is filled there")
    parser.add_argument("--kills", type=int, default=50)
    chosen = parser.parse_args()
    if chosen.only_intake:
        root, where, seconds = chosen.only_intake
        read = partial(compute, seconds=float(seconds))
        take_in(open_catalogue(where), [Path(root)], lambda: LocalCrew(read, 2))
        status = Path("/proc/self/status").read_text()  # its peak is not the parent's, as rusage's
        print(int(status.split("VmHWM:")[1].split()[0]) // 1024)
        return
    if chosen.questions:
        with tempfile.TemporaryDirectory() as name:
            for count in chosen.questions:
                for where in chosen.on:
                    ask(count, where, chosen.keep or Path(name))
        return
    print("| what | measured |\n|---|---|")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "kills").mkdir()
        asked = (lists(folder, chosen.parts),)
        rest = (
            intake(folder, 250, 2, 0.2, 3_000_000),
            memory(folder / "memory"),
            killed(folder / "kills", chosen.kills, 500),
        )
        for rows in (*asked, *rest):
            for what, measured in rows:
                print(f"| {what} | {measured} |", flush=True)


if __name__ == "__main__":
    main()
