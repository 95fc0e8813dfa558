"""How many small faults the tests notice: mutants of the code that reads, resolves and fits.

    python -m reader.train.bench.mutation --count 300 --out reader/train/bench/mutation.md

The faults are mutmut's: another operator, number, keyword, argument or word. Out of all that are
possible a sample is drawn with a fixed seed, and each is put into a copy of the
project, where the fast tests of its folder run until one fails. Sentences for people are left as
they are. `--state` keeps what was done, so that a run can be stopped and goes on.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[3]
SEED = 3_400_000
SECONDS = 240  # after that a mutant counts as killed: it hangs
REPLAYS = "tests/test_replays.py"

MARKINGS = ("tests/markings/test_fixtures.py", "tests/markings/test_scan.py")

# What is mutated, and the tests that should notice, quick ones first.
TESTS = {
    "cascade.py": (REPLAYS, "tests/test_cascade.py"),
    "work.py": (REPLAYS, "tests/test_cascade.py"),
    "ranking.py": ("reader/ranking.py", REPLAYS, "tests/test_cascade.py"),
    "text": ("reader/text", *MARKINGS, REPLAYS, "tests/markings"),
    "markings": ("reader/markings", *MARKINGS, REPLAYS, "tests/markings"),
    "names": ("reader/names", "tests/names"),
    "resolve": ("reader/resolve", "tests/resolve", REPLAYS),
    "fit": ("reader/fit", "tests/fit"),
}
COPIED = ("reader", "tests", "fixtures", "pyproject.toml", "samples/labels.csv")


@dataclass(frozen=True, eq=False)
class Mutant:
    """One fault: where, and what stands there before and after."""

    part: str
    path: str
    module: Any  # libcst's, of the whole file
    mutation: Any  # mutmut's

    @property
    def texts(self) -> tuple[str, str]:
        """What stood there and what stands there now, on one line each."""
        nodes = (self.mutation.original_node, self.mutation.mutated_node)
        before, after = (" ".join(self.module.code_for_node(node).split()) for node in nodes)
        return before[:60], after[:60]

    @property
    def code(self) -> str:
        """The whole file with the fault put in."""
        nodes = (self.mutation.original_node, self.mutation.mutated_node)
        return str(self.module.deep_replace(*nodes).code)

    @cached_property
    def key(self) -> str:
        """What it is known by in the kept state: the file and the text that differs there."""
        old = self.module.code.splitlines()
        pairs = zip(old, self.code.splitlines(), strict=False)
        line = next((k for k, (one, other) in enumerate(pairs, 1) if one != other), len(old))
        return f"{self.path}:{line} {self.texts[0]} -> {self.texts[1]}"


def mutants(path: Path, part: str) -> Iterator[Mutant]:
    """Every fault that can be put into one file."""
    import libcst as cst
    from mutmut.mutation.file_mutation import create_mutations

    code = path.read_text(encoding="utf-8")
    module, mutations = create_mutations(str(path), code)[:2]
    for one in mutations:
        old = one.original_node
        if isinstance(old, cst.SimpleString) and " " in old.value:
            continue  # a sentence for people
        yield Mutant(part, str(path.relative_to(ROOT)), module, one)


def sample(count: int, seed: int) -> list[Mutant]:
    """Mutants drawn at random, each file as often as it has faults to give."""
    files = [(part, path) for part in TESTS for path in _files(ROOT / "reader" / part)]
    every = [one for part, path in files for one in mutants(path, part)]
    print(f"{len(every)} faults are possible", flush=True)
    return random.Random(seed).sample(every, min(count, len(every)))


def _files(part: Path) -> list[Path]:
    return [part] if part.is_file() else sorted(part.glob("*.py"))


def copy_project(folder: Path) -> None:
    """The project as far as the tests need it."""
    for name in COPIED:
        source, target = ROOT / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", "*.md"))
        else:
            shutil.copy(source, target)


def killed(folder: Path, tests: tuple[str, ...]) -> bool:
    """Whether one of the tests fails in this copy; a run that hangs counts as noticed."""
    child = os.fork()
    if child == 0:
        _run_tests(folder, tests)
    began = time.monotonic()
    while time.monotonic() - began < SECONDS:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status != 0
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return True


def _run_tests(folder: Path, tests: tuple[str, ...]) -> None:
    """In a child process: the copy's own modules, tests until one fails, exit status by that."""
    os.setsid()
    os.chdir(folder)
    for name in [name for name in sys.modules if name.split(".")[0] == "reader"]:
        del sys.modules[name]
    sys.path.insert(0, str(folder))
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    import pytest

    options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-o", "addopts="]
    options += ["--doctest-modules", "--import-mode=importlib"]
    os._exit(int(pytest.main([*options, *tests])))


def run(wanted: list[Mutant], state: Path, seconds: float) -> dict[str, bool]:
    """Put in one fault after the other; what was done before is not done again."""
    import hypothesis  # noqa: F401 (loaded once, for all children)
    import numpy as np  # noqa: F401
    import pytest  # noqa: F401

    done: dict[str, bool] = json.loads(state.read_text()) if state.exists() else {}
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="tyremark-mutants-") as name:
        folder = Path(name)
        copy_project(folder)
        for one in wanted:
            if time.monotonic() - began > seconds or one.key in done:
                continue
            whole_tests = f"{one.part}: nothing changed"
            if whole_tests not in done:
                if killed(folder, TESTS[one.part]):
                    raise SystemExit(f"the tests of {one.part} fail without any fault put in")
                done[whole_tests] = True
            target = folder / one.path
            whole = target.read_text(encoding="utf-8")
            _write(target, one.code)
            done[one.key] = killed(folder, TESTS[one.part])
            _write(target, whole)
            state.write_text(json.dumps(done, indent=0))
            print("killed  " if done[one.key] else "SURVIVED", one.key, flush=True)
    return done


def _write(path: Path, code: str) -> None:
    """Write a module; what was compiled of it goes, as its time alone may hide a change."""
    path.write_text(code, encoding="utf-8")
    for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        compiled.unlink()


def report(wanted: list[Mutant], done: dict[str, bool]) -> str:
    """The table, and every fault that nobody noticed."""
    lines = [
        "# Faults that the tests notice", "",
        f"{sum(one.key in done for one in wanted)} faults, drawn at random (seed {SEED}) from all",
        "that mutmut's operators can put in; sentences for people are left out. Written by",
        "`python -m reader.train.bench.mutation`.", "",
        "| part | faults tried | noticed | share |", "|---|---|---|---|",
    ]  # fmt: skip
    rows = [(part, [one for one in wanted if one.part == part]) for part in TESTS]
    for part, group in [*rows, ("all", wanted)]:
        tried = [done[one.key] for one in group if one.key in done]
        if tried:
            share = f"{100 * sum(tried) / len(tried):.0f} %"
            lines.append(f"| {part} | {len(tried)} | {sum(tried)} | {share} |")
    left = [one for one in wanted if done.get(one.key) is False]
    lines += ["", "Not noticed:", ""]
    lines += [f"- `{one.key}`" for one in left]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Draw, run, write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--out", type=Path, default=Path("reader/train/bench/mutation.md"))
    parser.add_argument("--state", type=Path, default=Path(tempfile.gettempdir(), "mutants.json"))
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so long")
    wishes = parser.parse_args()
    wanted = sample(wishes.count, SEED)
    done = run(wanted, wishes.state, wishes.seconds)
    wishes.out.write_text(report(wanted, done), encoding="utf-8")


if __name__ == "__main__":
    main()
