"""Run all of it, or what is asked for, and write the table."""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from reader.train.bench import hostile
from reader.train.bench.hostile.by_file import (
    by_bin,
    by_find,
    by_read,
    through_the_door,
    write_files,
)
from reader.train.bench.hostile.by_text import WAYS, into_command
from reader.train.bench.hostile.by_upload import by_upload
from reader.train.bench.hostile.rows import Row
from reader.train.bench.markdown import markdown

TABLE = Path(__file__).parents[1] / "hostile.md"
HEAD = ["way", "tried", "answered", "refused in one line", "faults", "memory at most", "took"]
Ways = dict[str, Callable[[], Row]]


def ways(files: Sequence[Path], work: Path, ends: Counter[str]) -> Ways:
    """Each way by the name of its row."""
    folder = work / "files"
    found: Ways = {
        "`read`": lambda: by_read(files),
        "`bin --by folder`": lambda: by_bin(folder, "folder", work),
        "`bin --by time`": lambda: by_bin(folder, "time", work),
        "`bin --by code`": lambda: by_bin(folder, "code", work),
        "`find --photo`": lambda: by_find(files, work),
        "upload": lambda: by_upload(files, work),
        "1000 mutated jpg": lambda: through_the_door("jpg", ends),
        "1000 mutated heic": lambda: through_the_door("heic", ends),
    }
    texts = {f"texts into `{name}`": partial(into_command, name, work) for name in WAYS}
    return found | texts


def main() -> None:
    """Run the ways asked for, print each row as it comes, and write the table after each."""
    asked = argparse.ArgumentParser(description=hostile.__doc__)
    asked.add_argument("--out", type=Path, default=TABLE)
    asked.add_argument("--only", default="", help="Ways whose name holds this; other rows stay.")
    asked.add_argument("--left", action="store_true", help="Ways that have no row yet.")
    given = asked.parse_args()
    ends: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as place:
        work = Path(place)
        every = ways(write_files(work / "files"), work, ends)
        for name, way in every.items():
            if given.only not in name or (given.left and name in kept(given.out)):
                continue
            began = time.perf_counter()
            row = way()
            row.seconds = time.perf_counter() - began
            print(*row.cells(), *row.faults[:8], sep=" | ", flush=True)
            write(given.out, row, list(every))
    for end, count in ends.most_common():
        print(f"{count} mutated pictures: … {end}")


def kept(out: Path) -> dict[str, list[str]]:
    """The rows of a table written before, by name."""
    if not out.exists():
        return {}
    lines = [line for line in out.read_text("utf-8").splitlines() if line.startswith("| ")]
    rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[1:]]
    return {row[0]: row for row in rows}


def write(out: Path, row: Row, order: Sequence[str]) -> None:
    """Put the row into the table, in place of the one of the same name."""
    rows = kept(out) | {row.way: row.cells()}
    about = (hostile.__doc__ or "").split("\n\n", 1)[1].strip()
    command = (
        "`python -m reader.train.bench.hostile`, on 2 cores of a virtual machine that others used."
    )
    table = markdown([HEAD, *(rows[name] for name in order if name in rows)])
    out.write_text(f"# Hostile files and texts\n\n{command}\n\n{about}\n\n{table}\n", "utf-8")


if __name__ == "__main__":
    main()
