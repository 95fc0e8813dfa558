"""Draws and reads a set of doubles and compares its folders: for calibration and benchmark."""

from __future__ import annotations

import csv
import json
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from hashlib import blake2b
from itertools import combinations
from multiprocessing import get_context
from pathlib import Path

import cv2

from reader.catalogue.db.records import PhotoRef
from reader.catalogue.intake.jobs import Job, read_job
from reader.catalogue.intake.surroundings import opened
from reader.photo.likeness import Likeness, Look, compare, look
from reader.train.bench.doubles_sets import Folder, draw


@dataclass(frozen=True)
class Row:
    """A folder's truth, as `doubles_sets.draw` wrote it."""

    folder: str
    model: str
    piece: str
    text: str
    kind: str


@dataclass(frozen=True)
class Compared:
    """Two folders of one size as read: how they belong together in truth, and how alike."""

    one: Row
    other: Row
    likeness: Likeness

    @property
    def truth(self) -> str:
        """same (one part), sibling (another part of its model) or other."""
        if self.one.model != self.other.model:
            return "other"
        return "same" if self.one.piece == self.other.piece else "sibling"


def rows(out: Path) -> dict[str, Row]:
    """The truth of every folder drawn so far, by its name."""
    found = {}
    for path in sorted(out.glob("[0-9]*.csv")):
        with path.open(newline="") as file:
            row = Row(*next(csv.reader(file))[:5])
        found[row.folder] = row
    return found


def options(about: str | None, models: int) -> ArgumentParser:
    """What both commands ask: where the set is, how many models it has, what draws it."""
    parser = ArgumentParser(description=about)
    parser.add_argument("--set", type=Path, required=True)
    parser.add_argument("--models", type=int, default=models)
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts and backgrounds")
    parser.add_argument("--workers", type=int, default=1)
    return parser


def make(out: Path, some: Sequence[Folder], carry: Path, workers: int) -> None:
    """Draw and read all folders; what is there already stays. May be stopped at any moment."""
    out.mkdir(parents=True, exist_ok=True)
    jobs = [(out, folder, carry) for folder in some if not (out / f"{folder.name}.json").exists()]
    if workers < 2:
        list(map(_make, jobs))
        return
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        list(pool.map(_make, jobs))


def _make(job: tuple[Path, Folder, Path]) -> None:
    out, folder, carry = job
    import torch

    torch.set_num_threads(1)
    cv2.setNumThreads(1)
    draw(_studio(carry), out, [folder])
    path = out / "photos" / folder.name / "1.jpg"
    data = path.read_bytes()
    ref = PhotoRef(blake2b(data, digest_size=20).hexdigest(), str(path), path.name)
    findings = read_job(Job(folder.name, (ref,))).findings
    told = None
    if findings is not None and findings.shares and findings.around is not None:
        (out / f"{folder.name}.jpg").write_bytes(findings.around)
        told = {"bsd": findings.shares[0].bsd, "kind": findings.kind}
    (out / f"{folder.name}.json").write_text(json.dumps(told))


@cache
def _studio(carry: Path):  # type: ignore[no-untyped-def]
    from reader.train.render.samples import Studio

    return Studio.open(carry)


def looks(out: Path) -> dict[str, tuple[int, str, Look]]:
    """Folder -> diameter and kind as read, and the features of its marking's surroundings."""
    found = {}
    for path in sorted(out.glob("[0-9]*.json")):
        told = json.loads(path.read_text())
        if told is not None:
            seen = look(opened(path.with_suffix(".jpg").read_bytes()))
            found[path.stem] = (told["bsd"], told["kind"], seen)
    return found


def compared(out: Path) -> Iterator[Compared]:
    """Every two folders that were read as of one size."""
    truth, seen = rows(out), looks(out)
    for one, other in combinations(sorted(seen), 2):
        (bsd, kind, mine), (its, sort, theirs) = seen[one], seen[other]
        if bsd == its and kind == sort:
            yield Compared(truth[one], truth[other], compare(mine, theirs))
