"""How a bin is taken in by the real reader: python -m reader.train.bench.intake FOLDER.

Measures the use of the cores, the time beside the reading and memory; then the same intake again,
killed at random moments and gone on with, on SQLite and PostgreSQL, must give the same catalogue,
byte for byte; and damaged catalogues must be noticed. Linux only.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

from reader.catalogue.db.canonical import dump
from reader.catalogue.db.own_server import database, postgres
from reader.catalogue.db.store import open_catalogue
from reader.catalogue.intake.intake import Tally, take_in
from reader.catalogue.intake.jobs import read_job
from reader.catalogue.intake.workers import LocalCrew
from reader.train.bench import damage

Row = tuple[str, str]
PROGRAM = [sys.executable, "-c", "from reader.cli import main; main()", "bin"]
LONGEST = 9.0  # seconds before a kill; an intake of the depot takes longer
TICKS = os.sysconf("SC_CLK_TCK")


def idle() -> float:
    """Seconds that the machine's cores have stood idle since it was started, all together."""
    fields = Path("/proc/stat").read_text().split("\n", 1)[0].split()
    return (int(fields[4]) + int(fields[5])) / TICKS


def resident(process: int) -> int:
    """Memory that a process holds now, in MiB."""
    status = Path(f"/proc/{process}/status").read_text()
    found = re.search(r"VmRSS:\s+(\d+)", status)
    return int(found[1]) // 1024 if found else 0


def wanted(process: int) -> float:
    """Seconds in which a process ran or stood in the queue for a core, with its ended children.

    Of the process its first thread, which is the only one that works in a reading process.
    """
    running, queued, _ = Path(f"/proc/{process}/schedstat").read_text().split()
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(running) + int(queued)) / 1e9 + (int(fields[13]) + int(fields[14])) / TICKS


class Watch:
    """Looks twice a second at the memory of this process and of its reading processes."""

    def __init__(self) -> None:
        self.own = self.worker = 0
        self._seen: dict[int, list[tuple[float, float]]] = {}
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()

    def _look(self) -> None:
        children = Path(f"/proc/self/task/{os.getpid()}/children")
        while not self._end.wait(0.5):
            self.own = max(self.own, resident(os.getpid()))
            for child in map(int, children.read_text().split()):
                with contextlib.suppress(OSError, ValueError):  # it ends while we look
                    self._look_at(child)

    def _look_at(self, child: int) -> None:
        if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes():
            self.worker = max(self.worker, resident(child))
            self._seen.setdefault(child, []).append((time.monotonic(), wanted(child)))

    def use(self) -> float:
        """Share of the reading processes' lives in which they wanted a core."""
        ends = [(seen[0], seen[-1]) for seen in self._seen.values()]
        lived = sum(last[0] - first[0] for first, last in ends)
        return sum(last[1] - first[1] for first, last in ends) / lived

    def stop(self) -> None:
        """End the looking."""
        self._end.set()
        self._thread.join()


def whole(root: Path, where: Path, workers: int) -> Iterator[Row]:
    """One undisturbed run in this process, whose workers are its children."""
    watch, last = Watch(), Tally()
    began, rested, before = time.perf_counter(), idle(), os.times()
    last = take_in(open_catalogue(where), [root], lambda: LocalCrew(read_job, workers))
    elapsed, rested, after = time.perf_counter() - began, idle() - rested, os.times()
    watch.stop()
    own = after.user + after.system - before.user - before.system
    read = sum(after[2:4]) - sum(before[2:4])  # of the children
    cores = os.cpu_count() or 1
    others = max(0.0, 100 * (1 - (own + read + rested) / (elapsed * cores)))
    yield "photos, parts", f"{last.photos}, {last.parts}"
    yield "seconds, photos a minute", f"{elapsed:.0f} s, {60 * last.photos / elapsed:.0f}"
    yield "processor time a photo", f"{(own + read) / last.photos:.2f} s"
    yield f"{workers} reading processes ran or stood in the queue for a core", f"{watch.use():.1%}"
    share = (own + read) / (own + read + rested)
    yield f"taken of what others left of {cores} cores (they had {others:.0f} %)", f"{share:.1%}"
    yield "main process's own time a photo", f"{1000 * own / last.photos:.1f} ms"
    yield "most memory: main process, a worker", f"{watch.own} MiB, {watch.worker} MiB"


def killed(root: Path, places: Iterator[str], kills: int, longest: float, whole: str) -> str:
    """The command itself, killed (kill -9) at random moments and started again.

    When an intake comes to its end, the next begins in a fresh catalogue; each that ended must
    hold what the undisturbed one holds.
    """
    choose = random.Random(7)
    done, alike, ends = 0, 0, 0
    where = next(places)
    while True:
        command = [*PROGRAM, str(root), "--catalogue", where]
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        if done < kills:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(choose.uniform(1, longest))
        else:
            process.wait()
        if process.poll() is None:
            done += 1
            process.send_signal(signal.SIGKILL)
            process.wait()
            continue
        ends += 1
        alike += "\n".join(dump(open_catalogue(where))) == whole
        if done >= kills:
            break
        where = next(places)
    same = "the same catalogue each time" if alike == ends else "NOT the same catalogue"
    size = len(whole.encode())
    return f"{same} ({alike} of {ends} intakes came to their end; {size:,} bytes compared)"


def kills(root: Path, folder: Path, whole: str, counts: tuple[int, int]) -> Iterator[Row]:
    """Kills on SQLite and on PostgreSQL."""
    files = (str(folder / f"killed-{number}.db") for number in count(1))
    began = time.perf_counter()
    told = killed(root, files, counts[0], LONGEST, whole)
    took = time.perf_counter() - began
    yield f"killed {counts[0]} times while reading, SQLite, {took:.0f} s", told
    if counts[1]:
        with postgres() as server:
            urls = (database(server, f"killed{number}") for number in count(1))
            told = killed(root, urls, counts[1], LONGEST, whole)
        yield f"killed {counts[1]} times while reading, PostgreSQL", told


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--workers", type=int, default=os.cpu_count())
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--postgres-kills", type=int, default=20)
    given = asked.parse_args()
    print("| what | measured |\n|---|---|", flush=True)
    with tempfile.TemporaryDirectory() as name:
        where = Path(name, "whole.db")
        for what, measured in whole(given.folder, where, given.workers):
            print(f"| {what} | {measured} |", flush=True)
        text = "\n".join(dump(open_catalogue(where)))
        counts = (given.kills, given.postgres_kills)
        for what, measured in kills(given.folder, Path(name), text, counts):
            print(f"| {what} | {measured} |", flush=True)
        for what, measured in damage.rows() if given.kills else ():
            print(f"| {what} | {measured} |", flush=True)


if __name__ == "__main__":
    main()
