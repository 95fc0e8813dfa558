"""What no file and no text may do: python -m reader.train.bench.hostile [--only WAY].

Some three hundred hostile or odd files go through `read`, `bin` (by folder, time and code), `find
--photo` and the page's upload; a thousand mutated JPEG and as many HEIC through the one door for
pictures; five thousand random texts into every command that takes a size. Faults are tracebacks,
lost processes, files not accounted for, and errors of more than a line or without a remedy; memory
is that of a command with all its processes. `find`, uploads and texts run inside one process, which
a fault would end.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from reader.errors import PhotoError, ReaderError
from reader.train.bench.hostile_files import all_files, encoded, mutated, odd_places
from reader.train.bench.markdown import markdown

COMMAND = [sys.executable, "-c", "from reader.cli import main; main()"]
MUTATIONS = 1000
TEXTS = 5000
SEED = 3_100_000
AT_ONCE = 30  # files of one `read`


@dataclass
class Row:
    """How one way went."""

    way: str
    tried: int = 0
    fine: int = 0  # read, or answered
    refused: int = 0  # in one line with a remedy
    faults: list[str] = field(default_factory=list)
    most_mb: float = 0.0
    seconds: float = 0.0

    def cells(self) -> list[str]:
        """As a row of the table."""
        memory = f"{self.most_mb:.0f} MB" if self.most_mb else ""
        counts = [str(n) for n in (self.tried, self.fine, self.refused, len(self.faults))]
        return [self.way, *counts, memory, f"{self.seconds:.0f} s"]


def tree_mb(root: int) -> float:
    """Memory of a process and all below it, MB; pages that several share count once each."""
    below: dict[int, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, rest = stat.read_text().rsplit(")", 1)
        except OSError:  # it ended
            continue
        below.setdefault(int(rest.split()[1]), []).append(int(name.split()[0]))
    waiting, total = [root], 0
    while waiting:
        number = waiting.pop()
        waiting += below.get(number, [])
        try:
            text = Path(f"/proc/{number}/smaps_rollup").read_text()
        except OSError:
            continue
        found = re.search(r"^Pss:\s+(\d+)", text, re.MULTILINE)
        total += int(found[1]) if found else 0
    return total / 1024


def watched(words: Sequence[str], row: Row) -> tuple[int, str, str]:
    """Run a command; status, output, errors. Its memory goes into the row."""
    process = subprocess.Popen([*COMMAND, *words], stdout=-1, stderr=-1)
    done = threading.Event()

    def watch() -> None:
        while not done.wait(0.1):
            row.most_mb = max(row.most_mb, tree_mb(process.pid))

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    out, errors = process.communicate()
    done.set()
    watcher.join()
    texts = [text.decode("utf-8", "replace") for text in (out, errors)]
    if process.returncode < 0 or "Traceback" in texts[0] + texts[1] or process.returncode == 70:
        row.faults.append(f"{words[0]}: status {process.returncode}, {texts[1][-300:]}")
    return process.returncode, texts[0], texts[1]


def by_read(files: Sequence[Path]) -> Row:
    """Every file is either read or named once, with a remedy."""
    row = Row("`read`")
    for start in range(0, len(files), AT_ONCE):
        some = files[start : start + AT_ONCE]
        _, out, errors = watched(["read", "--json", "--", *map(str, some)], row)
        try:
            told = json.loads(out)
        except ValueError:
            row.faults.append(f"no JSON: {errors[-200:]}")
            continue
        row.fine += len(told["readings"])
        row.refused += sum(bool(one["message"] and one["remedy"]) for one in told["problems"])
        if len(told["readings"]) + len(told["problems"]) != len(some):
            row.faults.append(f"{len(some)} files, {len(told['problems'])} told")
        lines = [line for line in errors.splitlines() if line]
        if len(lines) != len(told["problems"]):
            row.faults.append(f"{len(lines)} lines for {len(told['problems'])} problems")
        row.tried += len(some)
    return row


def by_bin(folder: Path, by: str, work: Path) -> Row:
    """The whole folder at once; every file is accounted for, and a second run finds no work."""
    row = Row(f"`bin --by {by}`")
    catalogue = str(work / f"{by}.db")
    words = ["bin", str(folder), "--by", by, "--catalogue", catalogue, "--workers", "2"]
    status, out, errors = watched(words, row)
    if status not in (0, 3):
        row.faults.append(f"status {status}: {errors[-300:]}")
    _, again, _ = watched(words, row)
    if not again.startswith("0 parts read"):
        row.faults.append(f"not finished at once: {again[:100]}")
    found = {
        name: sum(int(n) for n in re.findall(rf"{name}: (\d+)", out))
        for name in ("could not be read", "left out", "there twice")
    }
    row.refused = sum(found.values())
    row.fine = _read_photos(catalogue)
    row.tried = row.fine + row.refused
    return row


def _read_photos(catalogue: str) -> int:
    import sqlalchemy as sa

    from reader.catalogue.db import schema
    from reader.catalogue.db.store import open_catalogue

    query = sa.select(sa.func.count()).select_from(schema.photos)
    with open_catalogue(catalogue, create=False).read() as connection:
        return int(connection.scalar(query.where(schema.photos.c.state == "read")) or 0)


def by_find(files: Sequence[Path], work: Path) -> Row:
    """`find --photo`: no label is in any of them, so all are refused."""
    row = Row("`find --photo`")
    catalogue = str(work / "find.db")
    _in_process(["add", "47-507", "--kind", "tyre", "--catalogue", catalogue], Row(""))
    for file in files:
        _in_process(["find", "--photo", str(file), "--catalogue", catalogue], row)
    return row


def _in_process(words: Sequence[str], row: Row) -> None:
    """A command inside this process; any end but an answer or a one-line error is a fault."""
    row.tried += 1
    result = _runner().invoke(_command(), list(words))
    error = result.exception
    if error is None or isinstance(error, SystemExit):
        if result.exit_code in (0, 1):
            row.fine += 1
        elif result.exit_code == 2:  # the command line's own refusal, with usage
            row.refused += 1
        else:
            row.faults.append(f"{words[0]} {words[-1]!r}: status {result.exit_code}")
    elif isinstance(error, ReaderError):
        row.refused += 1
        if not error.remedy or len(f"{error}".splitlines()) > 1:
            row.faults.append(f"{words[0]} {words[1:3]!r}: {error}")
    else:
        row.faults.append(f"{words[0]} {words[1:3]!r}: {type(error).__name__}: {error}"[:300])


def _runner():  # type: ignore[no-untyped-def]
    from click.testing import CliRunner

    return CliRunner()


_KEPT: list[object] = []


def _command():  # type: ignore[no-untyped-def]
    import typer

    from reader.cli import app

    if not _KEPT:
        _KEPT.append(typer.main.get_command(app))
    return _KEPT[0]


def by_upload(files: Sequence[Path], work: Path) -> Row:
    """Every plain file is sent to a page; each ends answered or refused, and the page stays."""
    from starlette.testclient import TestClient

    from reader.web.app import build
    from reader.web.settings import Limits, PageSettings

    row = Row("upload")
    free = Limits(uploads=(1e6, 1e6), requests=(1e6, 1e6))
    settings = PageSettings(
        catalogue=str(work / "page.db"),
        photos=work / "kept",
        folder=work / "bench",
        hosts=("testserver",),
        code="BENCHBENCH",
        limits=free,
    )
    with TestClient(build(settings), headers={"authorization": "Bearer BENCHBENCH"}) as page:
        for file in files:
            if file.is_file() and file.stat().st_size < 2**30:
                _send(page, file, row)
        if page.get("/").status_code != 200:
            row.faults.append("the page is gone")
    return row


def _send(page, file: Path, row: Row) -> None:  # type: ignore[no-untyped-def]
    row.tried += 1
    data = file.read_bytes()
    answer = page.post("/api/parts", files=[("photo", ("a.jpg", data, "image/jpeg"))])
    row.most_mb = max(row.most_mb, tree_mb(os.getpid()))
    if 400 <= answer.status_code < 500:
        row.refused += 1
        return
    if answer.status_code != 202:
        row.faults.append(f"{file.name}: {answer.status_code}")
        return
    part = {"state": "waiting"}
    until = time.monotonic() + 120
    while part["state"] not in ("done", "failed") and time.monotonic() < until:
        time.sleep(0.05)
        part = page.get(f"/api/parts/{answer.json()['id']}").json()
        row.most_mb = max(row.most_mb, tree_mb(os.getpid()))
    text = json.dumps(part)
    if "could not be read" in text or "took too long" in text or part["state"] == "waiting":
        row.faults.append(f"{file.name}: the reading process was lost: {text[:200]}")
    elif part["state"] == "done":
        row.fine += 1
    else:
        row.refused += 1


def through_the_door(kind: str, ends: Counter[str]) -> Row:
    """Mutated pictures, one after the other, by all three ways of the one door."""
    from reader.photo.load import load, qr_texts, taken

    row = Row(f"{MUTATIONS} mutated {kind}")
    chance = random.Random(SEED)
    good = encoded(kind, (320, 240))
    for number in range(MUTATIONS):
        data = mutated(good, chance)
        row.tried += 1
        try:
            for way in (taken, qr_texts, load):
                way(data, f"{number}")
            row.fine += 1
        except PhotoError as error:
            row.refused += 1
            ends[error.message.split(" ", 1)[1]] += 1
            if not error.remedy or "\n" in str(error):
                row.faults.append(str(error))
        except Exception as error:
            row.faults.append(f"{number}: {type(error).__name__}: {error}")
    return row


def texts() -> list[str]:
    """Random texts: spoilt sizes, signs and digits in any order, any letters at all."""
    chance = random.Random(SEED)
    real = [
        "47-507",
        "26 x 1 3/8",
        "700x25C",
        "622x19C",
        "27.5 x 2.25",
        "37/57-559",
        "80 psi",
        "28",
    ]
    signs = "0123456789 x×X-/.,½⅜\"'CcABmm()+*e"
    found = []
    for number in range(TEXTS):
        way = number % 4
        if way == 0:
            text = list(chance.choice(real))
            for _ in range(chance.randrange(1, 5)):
                text.insert(chance.randrange(len(text) + 1), chance.choice(signs))
            found.append("".join(text))
        elif way == 1:
            found.append("".join(chance.choices(signs, k=chance.randrange(1, 25))))
        elif way == 2:
            letters = (chr(chance.randrange(1, 0x3000)) for _ in range(chance.randrange(1, 40)))
            found.append("".join(letters))
        else:
            big = chance.choice(("9", "1", "٣", "²", "½", "-", "0", "x")) * chance.randrange(1, 400)
            found.append(chance.choice(("", "47-", "700x")) + big)
    return found


def into_every_command(work: Path) -> list[Row]:
    """Each text into each command, option or argument that takes a size."""
    place = str(work / "texts.db")
    _in_process(["add", "47-507", "--kind", "tyre", "--catalogue", place], Row(""))
    catalogue = ["--catalogue", place]
    ways = {
        "size": lambda t: ["size", "--", t],
        "size --measure-rim": lambda t: ["size", "--measure-rim", t],
        "fit": lambda t: ["fit", "37-622", "--", t],
        "fit --rim-allows": lambda t: ["fit", "37-622", "622x19C", "--rim-allows", t],
        "fit --tyre-max": lambda t: ["fit", "37-622", "622x19C", "--tyre-max", t],
        "wheel": lambda t: ["wheel", "--", t],
        "wheel --instead-of": lambda t: ["wheel", "37-622", "--instead-of", t],
        "wheel --gear": lambda t: ["wheel", "37-622", "--gear", t],
        "tube": lambda t: ["tube", "--", t],
        "tube LABEL": lambda t: ["tube", "47-559", "--", t],
        "pressure": lambda t: ["pressure", "--", t],
        "slip": lambda t: ["slip", *catalogue, "--", t],
        "clearance": lambda t: ["clearance", *catalogue, "--fork", "45", "--", t],
        "find": lambda t: ["find", *catalogue, "--", t],
        "find --fits": lambda t: ["find", *catalogue, "--fits", t],
        "find --tubes": lambda t: ["find", *catalogue, "--tubes", t],
        "want": lambda t: ["want", *catalogue, "--", t],
        "add": lambda t: ["add", "--kind", "tyre", *catalogue, "--", t],
    }
    rows = []
    for name, words in ways.items():
        row, began = Row(f"texts into `{name}`"), time.perf_counter()
        for text in texts():
            _in_process(words(text), row)
        row.seconds = time.perf_counter() - began
        rows.append(row)
    return rows


def write_files(folder: Path) -> list[Path]:
    """Every file, each in a folder of its own, so that `bin` takes each as one part."""
    files = []
    for number, (name, data) in enumerate(all_files()):
        path = folder / f"{number:03}" / name
        path.parent.mkdir(parents=True)
        path.write_bytes(data)
        files.append(path)
    (folder / "places").mkdir()
    return files + odd_places(folder / "places")


def main() -> None:
    """Run all of it, print each row as it comes, and write the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--out", type=Path, default=Path(__file__).with_suffix(".md"))
    asked.add_argument("--only", default="", help="Ways whose name holds this; other rows stay.")
    given = asked.parse_args()
    ends: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as place:
        work, folder = Path(place), Path(place, "files")
        files = write_files(folder)
        ways: dict[str, Callable[[], list[Row]]] = {
            "files: read": lambda: [by_read(files)],
            "files: bin folder": lambda: [by_bin(folder, "folder", work)],
            "files: bin time": lambda: [by_bin(folder, "time", work)],
            "files: bin code": lambda: [by_bin(folder, "code", work)],
            "files: find": lambda: [by_find(files, work)],
            "files: upload": lambda: [by_upload(files, work)],
            "mutated jpg": lambda: [through_the_door("jpg", ends)],
            "mutated heic": lambda: [through_the_door("heic", ends)],
            "texts": lambda: into_every_command(work),
        }
        for name in (name for name in ways if given.only in name):
            began = time.perf_counter()
            rows = ways[name]()
            rows[0].seconds = rows[0].seconds or time.perf_counter() - began
            for row in rows:
                print(*row.cells(), *row.faults[:8], sep=" | ", flush=True)
            write(given.out, rows)
    for end, count in ends.most_common():
        print(f"{count} mutated pictures: … {end}")


HEAD = ["way", "tried", "answered", "refused in one line", "faults", "memory at most", "took"]


def write(out: Path, rows: Sequence[Row]) -> None:
    """Put the rows into the table, in place of those of the same name."""
    kept: dict[str, list[str]] = {}
    if out.exists():
        lines = [line for line in out.read_text("utf-8").splitlines() if line.startswith("| ")]
        cells = [[cell.strip() for cell in line.strip("| ").split(" | ")] for line in lines[1:]]
        kept = {row[0]: row for row in cells}
    for row in rows:
        kept[row.way] = row.cells()
    about = (__doc__ or "").split("\n\n", 1)[1].strip()
    command = (
        "`python -m reader.train.bench.hostile`, on 2 cores of a virtual machine that others used."
    )
    table = markdown([HEAD, *kept.values()])
    out.write_text(f"# Hostile files and texts\n\n{command}\n\n{about}\n\n{table}\n", "utf-8")


if __name__ == "__main__":
    main()
