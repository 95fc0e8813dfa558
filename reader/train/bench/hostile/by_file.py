"""Hostile files through `read`, `bin`, `find --photo` and the one door for pictures."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from reader.errors import PhotoError
from reader.train.bench.hostile import SEED
from reader.train.bench.hostile.commands import in_process, watched
from reader.train.bench.hostile.files import all_files, encoded, mutated, odd_places
from reader.train.bench.hostile.rows import Row

MUTATIONS = 1000
AT_ONCE = 30  # files of one `read`


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
    in_process(["add", "47-507", "--kind", "tyre", "--catalogue", catalogue], Row(""))
    for file in files:
        in_process(["find", "--photo", str(file), "--catalogue", catalogue], row)
    return row


def through_the_door(kind: str, ends: Counter[str]) -> Row:
    """Mutated pictures, one after the other, by all three ways of the one door."""
    from reader.photo.load import codes, load, taken

    row = Row(f"{MUTATIONS} mutated {kind}")
    chance = random.Random(SEED)
    good = encoded(kind, (320, 240))
    for number in range(MUTATIONS):
        data = mutated(good, chance)
        row.tried += 1
        try:
            for way in (taken, codes, load):
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
