"""What the program costs before it reads much: python -m reader.train.bench.install [--times].

The wheel is built by `pip wheel --no-deps`, installed with the newest dependencies into a fresh
environment, and that is measured by `du -sm`. From there, `tyremark --help` and `tyremark read` of
a small photo are run as whole processes, one after the other; the first run is not counted. Beside
the clock stands the processor time of all processes together, which a busy machine hardly changes.
With --times nothing is built and the commands run from this tree.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from reader.train.bench.markdown import markdown

ROOT = Path(__file__).parents[3]
PHOTO = ROOT / "samples" / "printed-120.jpg"
OUT = Path(__file__).with_suffix(".md")
HEAD = ["what", "measured", "wanted"]
RUNS = {"help": 9, "photo": 5}


def build(folder: Path) -> Path:
    """The wheel of this tree."""
    _quiet([sys.executable, "-m", "pip", "wheel", "--no-deps", "-w", str(folder), str(ROOT)])
    (wheel,) = folder.glob("*.whl")
    return wheel


def install(wheel: Path, folder: Path) -> Path:
    """A fresh environment that holds the wheel and what it needs; its command."""
    _quiet([sys.executable, "-m", "venv", str(folder)])
    _quiet([str(folder / "bin" / "pip"), "install", str(wheel)])
    return folder / "bin" / "tyremark"


def megabytes(path: Path) -> int:
    """Room on the disk."""
    return int(_quiet(["du", "-sm", str(path)]).split()[0])


def seconds(words: Sequence[str], times: int) -> tuple[list[float], list[float]]:
    """How long a whole process takes, from start to end, after one that is not counted.

    Returns:
        By the clock, and processor time of all its processes, which a busy machine hardly changes.
    """
    clock, processor = [], []
    with tempfile.TemporaryDirectory() as place:
        for _ in range(times + 1):
            began, used = time.perf_counter(), _processor()
            _quiet(words, place)
            clock.append(time.perf_counter() - began)
            processor.append(_processor() - used)
    return clock[1:], processor[1:]


def _processor() -> float:
    used = os.times()
    return used.children_user + used.children_system


def _quiet(words: Sequence[str], place: str | None = None) -> str:
    env = os.environ | {"PYTHONPATH": ""}
    return subprocess.run(
        words, check=True, capture_output=True, text=True, cwd=place, env=env
    ).stdout


def _told(name: str, words: Sequence[str], wanted: str, times: int) -> list[str]:
    found, used = seconds(words, times)
    span = f"{min(found):.2f} to {max(found):.2f} s, middle {statistics.median(found):.2f} s"
    span += f"; of the processor {statistics.median(used):.2f} s"
    return [f"{name}, {times} times", span, wanted]


def main() -> None:
    """Measure, print and write the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--out", type=Path, default=OUT)
    asked.add_argument("--photo", type=Path, default=PHOTO)
    asked.add_argument("--times", action="store_true", help="Only the times, from this tree.")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as place:
        rows, command = [], Path(sys.executable).parent / "tyremark"
        if not given.times:
            wheel = build(Path(place, "wheel"))
            command = install(wheel, Path(place, "venv"))
            size = wheel.stat().st_size / 2**20
            rows.append(["wheel", f"{size:.1f} MB", ""])
            rows.append(["environment", f"{megabytes(Path(place, 'venv'))} MB", "at most 600 MB"])
        load = os.getloadavg()[0]
        photo = [str(command), "read", "--json", str(given.photo.resolve())]
        rows.append(
            _told("`tyremark --help`", [str(command), "--help"], "at most 0.3 s", RUNS["help"])
        )
        rows.append(_told("`tyremark read`, a small photo", photo, "", RUNS["photo"]))
    rows.append(["load of the machine before the times", f"{load:.1f}", ""])
    print(json.dumps(rows, indent=1))
    about = (__doc__ or "").split("\n\n", 1)[1].strip()
    where = f"Python {platform.python_version()}, {platform.system()} {platform.machine()}"
    cores = f"{os.cpu_count()} cores of a virtual machine"
    text = (
        f"# Installation\n\n`python -m reader.train.bench.install`, {where}, {cores}.\n\n{about}\n"
    )
    given.out.write_text(f"{text}\n{markdown([HEAD, *rows])}\n", "utf-8")


if __name__ == "__main__":
    main()
