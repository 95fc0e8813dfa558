"""How many small faults the tests notice: mutants of the code that reads, resolves and fits.

    python -m reader.train.bench.mutation --count 300 --jobs 2 --state carry/mutation.jsonl

The faults are mutmut's: another operator, number, keyword, argument or word. Out of all that are
possible a sample is drawn with a fixed seed; each is put into a copy of the project, and the fast
tests that call the changed function run until one fails. `--state` keeps a line for each fault, so
that a run can be stopped and goes on; `--survivors STATE` tries again what went unnoticed there.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import shutil
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence, Set
from pathlib import Path
from typing import Any

from reader.train.bench import noticing
from reader.train.bench.faults import PARTS, ROOT, Fault, every_fault, sample

SEED = 3_400_000
SPARE, TIMES = 15.0, 2.0  # seconds a fault may take: so many, and so often what its tests take
LEAST_CALLED = 0.85  # of the functions, by some test; else something is wrong with the set-up
KILLERS = 4  # so many tests that noticed a fault in the same file go first
COPIED = ("reader", "tests", "fixtures", "pyproject.toml", "samples/labels.csv")
FORK = multiprocessing.get_context("fork")


def copy_project(folder: Path) -> None:
    """The project as far as the tests need it."""
    left = shutil.ignore_patterns("__pycache__", "*.md", "vendor", "static", "locale")
    for name in COPIED:
        source, target = ROOT / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=left)
        else:
            shutil.copy(source, target)


def calls(folders: Sequence[Path]) -> noticing.Calls:
    """What the tests do without a fault, traced by one process a folder."""
    shares: list[list[str]] = [[] for _ in folders]
    for place, name in enumerate(noticing.test_files(folders[0])):
        shares[place % len(folders)].append(name)
    queue: Any = FORK.SimpleQueue()

    def one(folder: Path, names: list[str]) -> None:
        seen = noticing.trace(folder, names)
        queue.put((seen.rows, seen.failed, seen.broken))

    pairs = [pair for pair in zip(folders, shares, strict=True) if pair[1]]
    jobs = [FORK.Process(target=one, args=pair) for pair in pairs]
    for job in jobs:
        job.start()
    known = noticing.Calls()
    failed: list[str] = []
    broken: list[str] = []
    for _ in jobs:
        rows, red, bad = queue.get()
        failed, broken = failed + red, broken + bad
        for row in rows:
            known.add(*row)
    if broken or len(failed) * 20 > len(known.seconds):
        raise SystemExit("no fault was put in, and yet:\n" + "\n".join([*broken, *failed]))
    for test in failed:
        print(f"left out, as it fails without any fault put in: {test}", flush=True)
        del known.seconds[test]
    share = noticing.called_share(known, folders[0])
    print(f"{len(known.seconds)} tests, {sum(known.seconds.values()):.0f} s, call {share:.0%} "
          "of the functions", flush=True)  # fmt: skip
    if share < LEAST_CALLED:
        raise SystemExit("too few of the functions are called by any test")
    return known


def read_state(path: Path) -> dict[str, dict]:
    """What was tried, by key."""
    if not path.exists():
        return {}
    rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
    return {row["key"]: row for row in rows}


def run(wanted: Sequence[Fault], state: Path, jobs: int, until: float) -> None:
    """Put in one fault after the other, `jobs` at a time; what was done is not done again."""
    done = read_state(state)
    print(f"{len(wanted)} faults, {len(done)} done", flush=True)
    state.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="tyremark-mutants-") as name:
        folders = [Path(name, str(number)) for number in range(jobs)]
        for folder in folders:
            copy_project(folder)
        known = calls(folders)
        turn = FORK.Value("i", 0)
        workers = [
            FORK.Process(target=_work, args=(wanted, turn, folder, known, set(done), state, until))
            for folder in folders
        ]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()


def _work(
    wanted: Sequence[Fault],
    turn: Any,
    folder: Path,
    known: noticing.Calls,
    done: Set[str],
    state: Path,
    until: float,
) -> None:
    """One worker: takes the next fault until none or no time is left."""
    noticing.warm(folder, noticing.files_of(list(known.seconds)))
    killers: dict[str, list[str]] = defaultdict(list)
    for one in _turns(wanted, turn):
        if time.monotonic() > until:
            return
        if one.key in done:
            continue
        row = _try(one, folder, known, killers[one.path], until)
        if row is None:
            return
        with state.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")
        print("noticed " if row["noticed"] else "SURVIVED", one.key, row["by"], flush=True)


def _turns(wanted: Sequence[Fault], turn: Any) -> Iterator[Fault]:
    while True:
        with turn.get_lock():
            place, turn.value = turn.value, turn.value + 1
        if place >= len(wanted):
            return
        yield wanted[place]


def _try(
    one: Fault, folder: Path, known: noticing.Calls, killers: list[str], until: float
) -> dict | None:
    """One fault in this copy; None if the time of the whole run was over first."""
    target = folder / one.path
    whole = target.read_text(encoding="utf-8")
    tests = known.order(one.part, one.path, one.line, whole)
    first = [test for test in killers if test in tests]
    tests = [*first, *(test for test in tests if test not in first)]
    limit = SPARE + TIMES * sum(known.seconds[test] for test in tests)
    began = time.monotonic()
    _write(target, one.code)
    try:
        told = noticing.noticed(folder, tests, min(limit, until - began)) if tests else (False, "")
    finally:
        _write(target, whole)
    if told is None and time.monotonic() > until:
        return None
    found, test = told or (True, "hangs")
    if found and test in known.seconds:
        killers[:] = [test, *(other for other in killers if other != test)][:KILLERS]
    spent = round(time.monotonic() - began, 2)
    return {"key": one.key, "part": one.part, "path": one.path, "noticed": found, "by": test,
            "tests": len(tests), "seconds": spent}  # fmt: skip


def _write(path: Path, code: str) -> None:
    """Write a module; what was compiled of it goes, as its time alone may hide a change."""
    path.write_text(code, encoding="utf-8")
    for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        compiled.unlink()


def report(rows: Sequence[dict], again: Sequence[dict] = ()) -> str:
    """The table by part and file, and every fault that nobody noticed.

    `again` holds what came of them later, once tests had been written with them in view.
    """
    lines = [
        "# Faults that the tests notice", "",
        f"{len(rows)} faults, drawn at random (seed {SEED}) from all that mutmut's operators can",
        "put in; sentences for people are left out. Written by",
        "`python -m reader.train.bench.mutation`.", "", *_later(rows, again),
        "| part | faults tried | noticed | share |", "|---|---|---|---|",
    ]  # fmt: skip
    for part in PARTS:
        lines += _row(part, [row for row in rows if row["part"] == part])
    lines += [*_row("**all**", rows), "", "| file | faults tried | noticed | share |"]
    lines += ["|---|---|---|---|"]
    for path in sorted({row["path"] for row in rows}):
        lines += _row(path.removeprefix("reader/"), [row for row in rows if row["path"] == path])
    left = sorted(row["key"] for row in rows if not row["noticed"])
    return "\n".join([*lines, "", "Not noticed:", "", *(f"- `{key}`" for key in left)]) + "\n"


def _later(rows: Sequence[dict], again: Sequence[dict]) -> list[str]:
    if not again:
        return []
    was = {_placeless(row["key"]) for row in rows if not row["noticed"]}
    now = {_placeless(row["key"]): row["noticed"] for row in again}
    tried = [now[one] for one in was if one in now]
    return [
        f"Tests were then written with the {len(was)} unnoticed ones in view; of {len(tried)}",
        f"tried again {sum(tried)} are noticed now. The table is from before, a fair sample.", "",
    ]  # fmt: skip


def _row(name: str, rows: Sequence[dict]) -> list[str]:
    if not rows:
        return []
    good = sum(row["noticed"] for row in rows)
    return [f"| {name} | {len(rows)} | {good} | {100 * good / len(rows):.0f} % |"]


def chosen(wishes: argparse.Namespace) -> list[Fault]:
    """The faults to try: a sample, or what survived an earlier run."""
    if not wishes.survivors:
        return sample(wishes.count, SEED, wishes.only)
    rows = read_state(wishes.survivors).values()
    left = {_placeless(row["key"]) for row in rows if not row["noticed"]}
    paths = {path for path, _ in left if wishes.only in path}
    some = (one for path in sorted(paths) for one in every_fault(path))
    return [one for one in some if (one.path, one.change) in left]


def _placeless(key: str) -> tuple[str, str]:
    """File and texts of a key without the line, which moves as files change."""
    where, _, texts = key.partition(" ")
    return where.rpartition(":")[0], texts


def main() -> None:
    """Draw, run, write the table."""
    began = time.monotonic()
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument("--survivors", type=Path, help="try again what survived in this state")
    parser.add_argument("--again", type=Path, help="state of a later run with --survivors")
    parser.add_argument("--jobs", type=int, default=1, help="copies at a time")
    parser.add_argument("--out", type=Path, default=Path("reader/train/bench/mutation.md"))
    parser.add_argument("--state", type=Path, default=Path(tempfile.gettempdir(), "mutants.jsonl"))
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so long")
    wishes = parser.parse_args()
    out, state = wishes.out.resolve(), wishes.state.resolve()
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "TYREMARK_THREADS"):
        os.environ[name] = "1"
    again = list(read_state(wishes.again).values()) if wishes.again else []
    if wishes.seconds > 0:
        run(chosen(wishes), state, wishes.jobs, began + wishes.seconds)
    out.write_text(report(list(read_state(state).values()), again), encoding="utf-8")


if __name__ == "__main__":
    main()
