"""Which tests run which function, and one run of chosen tests in a process of its own.

A fault is tried on the tests that call the function it stands in. What is worked out once and kept
(tables, compiled notations) is called by the first test only, so that functions with few such
tests, and lines outside every function, are tried on all tests of their part as well.
"""

from __future__ import annotations

import ast
import os
import select
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import FrameType
from typing import Any

ROOT = Path(__file__).parents[3]
REPLAYS = "tests/test_replays.py"
CASCADE = (REPLAYS, "tests/test_cascade.py")
TESTS = {
    "cascade.py": CASCADE,
    "work.py": CASCADE,
    "ranking.py": ("reader/ranking.py", *CASCADE),
    "text": ("reader/text", "tests/text", "tests/markings", REPLAYS),
    "markings": ("reader/markings", "tests/markings", REPLAYS),
    "names": ("reader/names", "tests/names"),
    "resolve": ("reader/resolve", "tests/resolve", REPLAYS),
    "fit": ("reader/fit", "tests/fit"),
}
FEW = 10  # a function that fewer tests call may have been called for others before
OPTIONS = (
    "-x", "-q", "--no-header", "-p", "no:cacheprovider", "-o", "addopts=", "--doctest-modules",
    "--import-mode=importlib", "-p", "_hypothesis_pytestplugin", "--hypothesis-seed=0",
)  # fmt: skip


@dataclass
class Calls:
    """What the tests do without a fault: seconds of each, and who calls which function."""

    seconds: dict[str, float] = field(default_factory=dict)
    callers: dict[tuple[str, int], set[str]] = field(default_factory=lambda: defaultdict(set))

    def add(self, test: str, seconds: float, called: Sequence[Sequence[Any]]) -> None:
        """Note one test: `called` holds (path, first line) of the functions."""
        self.seconds[test] = seconds
        for path, line in called:
            self.callers[path, line].add(test)

    def order(self, part: str, path: str, line: int, text: str) -> list[str]:
        """The tests to try on a fault, quick ones first."""
        function = _function(text, line)
        direct = self.callers.get((path, function), set()) & self.seconds.keys()
        tests = sorted(direct, key=self._rank(part))
        if len(direct) < FEW:
            rest = [one for one in self.seconds if _of_part(one, part) and one not in direct]
            tests += sorted(rest, key=self._rank(part))
        return tests

    def _rank(self, part: str) -> Any:
        return lambda test: (not _of_part(test, part), self.seconds[test])


def called_share(calls: Calls, root: Path) -> float:
    """Share of all functions of the parts that some test calls."""
    known = [
        (str(path.relative_to(root)), first)
        for part in TESTS
        for path in _files(root / "reader" / part)
        for first, _ in _functions(path.read_text(encoding="utf-8"))
    ]
    return sum(one in calls.callers for one in known) / len(known)


def _files(part: Path) -> list[Path]:
    return [part] if part.is_file() else sorted(part.glob("*.py"))


def _of_part(test: str, part: str) -> bool:
    return test.startswith(TESTS[part])


@cache
def _functions(text: str) -> tuple[tuple[int, int], ...]:
    """First line (that of the first decorator) and last line of each function."""
    nodes = (n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef))
    return tuple(
        (min([node.lineno, *(one.lineno for one in node.decorator_list)]), node.end_lineno or 0)
        for node in nodes
    )


def _function(text: str, line: int) -> int:
    """The first line of the innermost function around a line; 0 outside of all."""
    return max((first for first, last in _functions(text) if first <= line <= last), default=0)


class Traced:
    """A pytest plugin that notes, test by test, which of the project's functions are called."""

    def __init__(self, folder: Path) -> None:
        self.root = f"{folder.resolve()}/"
        self.rows: list[tuple[str, float, list[tuple[str, int]]]] = []
        self.failed: list[str] = []
        self.broken: list[str] = []  # files whose tests can't even be collected, and why

    def pytest_collectreport(self, report: Any) -> None:
        """Note a file that can't be imported."""
        if report.failed:
            self.broken.append(f"{report.nodeid}: {str(report.longrepr)[-400:]}")

    def pytest_runtest_protocol(self, item: Any, nextitem: Any) -> bool:
        """Run one test under a profile function."""
        from _pytest.runner import runtestprotocol

        called: set[tuple[str, int]] = set()

        def note(frame: FrameType, event: str, _: object) -> None:
            if event == "call":
                called.add((frame.f_code.co_filename, frame.f_code.co_firstlineno))

        began = time.monotonic()
        sys.setprofile(note)
        try:
            reports = runtestprotocol(item, nextitem=nextitem, log=False)
        finally:
            sys.setprofile(None)
        if any(one.failed for one in reports):
            self.failed.append(item.nodeid)
        own = [
            (path.removeprefix(self.root), line)
            for path, line in called
            if path.startswith(self.root)
        ]
        self.rows.append((item.nodeid, time.monotonic() - began, own))
        return True


class Chosen:
    """A pytest plugin that runs only the given tests, in the given order."""

    def __init__(self, tests: Sequence[str]) -> None:
        self.rank = {test: place for place, test in enumerate(tests)}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        """Keep what was chosen."""
        kept = [item for item in items if item.nodeid in self.rank]
        items[:] = sorted(kept, key=lambda item: self.rank[item.nodeid])

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Remember the test that noticed."""
        if report.failed:
            self.failed = report.nodeid


def files_of(tests: Sequence[str]) -> list[str]:
    """The files that some tests stand in, each once."""
    return list(dict.fromkeys(test.split("::")[0] for test in tests))


def trace(folder: Path, names: Sequence[str]) -> Traced:
    """Run all tests of some files under a profile function."""
    plugin = Traced(folder)
    status = _pytest(folder, [one for one in OPTIONS if one != "-x"], names, plugin)
    if status not in (0, 1, 5):
        plugin.broken.append(f"pytest ended with {status} over {' '.join(names)}")
    return plugin


def warm(folder: Path, names: Sequence[str]) -> None:
    """Import all that the tests need; the project's own modules are forgotten again."""
    _pytest(folder, [*OPTIONS, "--collect-only"], names, None)
    _forget()


def noticed(folder: Path, tests: Sequence[str], seconds: float) -> tuple[bool, str] | None:
    """Whether a test fails in this copy, and which; None if it takes more than `seconds`."""
    heard, told = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(heard)
        _child(folder, tests, told)
    os.close(told)
    try:
        done = bool(select.select([heard], [], [], seconds)[0])
        return _heard(os.read(heard, 4096).decode()) if done else None
    finally:
        os.close(heard)
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _heard(line: str) -> tuple[bool, str]:
    """A child's last words: exit status and test; one that dies without any was noticed."""
    status, _, test = line.partition(" ")
    if status in ("0", "5"):
        return False, ""
    return True, test or ("import" if status else "died")


def _child(folder: Path, tests: Sequence[str], told: int) -> None:
    """In the child: run the tests, write the status and the test that failed into the pipe."""
    os.setsid()
    plugin = Chosen(tests)
    status = _pytest(folder, OPTIONS, files_of(tests), plugin)
    os.write(told, f"{status} {plugin.failed}".encode()[:4096])
    os._exit(0)


def _pytest(folder: Path, options: Sequence[str], names: Sequence[str], plugin: Any) -> int:
    """Run pytest in this process, in the copy, without a word."""
    import pytest

    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    os.chdir(folder)
    _forget()
    sys.path.insert(0, str(folder))
    with _quiet():
        return int(pytest.main([*options, *names], plugins=[plugin] if plugin else []))


def _forget() -> None:
    """Drop the project's modules, so that they are imported anew from the copy."""
    own = {"reader", "tests", "conftest", *(path.stem for path in (ROOT / "tests").glob("*.py"))}
    for name in [name for name in sys.modules if name.split(".")[0] in own]:
        if not name.startswith("reader.train"):
            del sys.modules[name]


class _quiet:
    """No output of this process and its children while it lasts."""

    def __enter__(self) -> None:
        self.kept = (os.dup(1), os.dup(2))
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        os.close(null)

    def __exit__(self, *_: object) -> None:
        for number, kept in zip((1, 2), self.kept, strict=True):
            os.dup2(kept, number)
            os.close(kept)


def test_files(root: Path) -> Iterator[str]:
    """All files with fast tests, doctests among them, each once."""
    names = dict.fromkeys(name for group in TESTS.values() for name in group)
    for name in names:
        path = root / name
        found = sorted(path.rglob("*.py")) if path.is_dir() else [path]
        yield from (
            str(one.relative_to(root))
            for one in found
            if name.startswith("reader") or one.name.startswith("test_")
        )
