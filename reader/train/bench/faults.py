"""Small faults that can be put into the code: mutmut's, each with a key to know it by."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[3]

# What is given faults, by part of the table: one file, or all files of a folder.
PARTS = (
    "cascade.py", "work.py", "ranking.py", "text", "markings", "names", "resolve", "fit",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Fault:
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
    def change(self) -> str:
        """What it is known by within its file, as far as that tells."""
        return f"{self.texts[0]} -> {self.texts[1]}"

    @property
    def code(self) -> str:
        """The whole file with the fault put in."""
        nodes = (self.mutation.original_node, self.mutation.mutated_node)
        return str(self.module.deep_replace(*nodes).code)

    @cached_property
    def line(self) -> int:
        """The first line that differs, from 1."""
        old = self.module.code.splitlines()
        pairs = zip(old, self.code.splitlines(), strict=False)
        return next((k for k, (one, other) in enumerate(pairs, 1) if one != other), len(old))

    @cached_property
    def key(self) -> str:
        """What it is known by in the kept state: file, line and the text that differs there."""
        return f"{self.path}:{self.line} {self.change}"


def faults(path: Path, part: str) -> Iterator[Fault]:
    """Every fault that can be put into one file; sentences for people are left as they are."""
    import libcst as cst
    from mutmut.mutation.file_mutation import create_mutations

    code = path.read_text(encoding="utf-8")
    module, mutations = create_mutations(str(path), code)[:2]
    for one in mutations:
        old = one.original_node
        if isinstance(old, cst.SimpleString) and " " in old.value:
            continue
        yield Fault(part, str(path.relative_to(ROOT)), module, one)


def every_fault(only: str = "") -> list[Fault]:
    """All faults of all parts, or of the files whose path holds `only`."""
    files = [(part, path) for part in PARTS for path in _files(ROOT / "reader" / part)]
    return [
        one
        for part, path in files
        if only in str(path.relative_to(ROOT))
        for one in faults(path, part)
    ]


def sample(count: int, seed: int, only: str = "") -> list[Fault]:
    """Faults drawn at random, each file as often as it has faults to give."""
    every = every_fault(only)
    print(f"{len(every)} faults are possible", flush=True)
    return random.Random(seed).sample(every, min(count, len(every)))


def _files(part: Path) -> list[Path]:
    return [part] if part.is_file() else sorted(part.glob("*.py"))
