"""Answers of known truth for `reader.train.calibrate.fit`: photographs that nothing else has seen.

    python -m reader.train.calibrate.collect --photos 110 --workers 14 --device cuda

photographs that many parts of every recipe (held-out fonts and backgrounds, seeds and textures of
its own), reads them, and keeps what was read in --evidence: appended chunk by chunk, so that a run
cut short goes on where it stopped. Then it weighs all that is kept and writes --out, one line an
answer; with `--photos 0` only that, which takes a minute after a change of the resolver.
"""

from __future__ import annotations

import argparse
import io
import pickle
import struct
import time
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from reader.markings import parse_text
from reader.names.meanings import meanings
from reader.records import Marking, PartKind, Reading, Size
from reader.resolve.calibration import Features
from reader.resolve.resolve import evidence_features
from reader.tables import Tables, load_tables
from reader.train.calibrate.evidence import thin
from reader.train.calibrate.families import FAMILIES
from reader.train.calibrate.fit import write_answers
from reader.train.render.batch import Facts, Job, Stock, read_shots
from reader.train.render.kinds import RECIPES
from reader.train.render.truth import settles

FIRST_SEED = 2_000_000  # above all of the benchmark's
FIRST_SET_SEED = 2_600_000  # of parts whose text is chosen
REPORTED_SET_SEED = 1_800_000  # of those that are reported: nothing is fitted on them
REPORTED_SEED = 1_950_000
STEP = 20_000  # seeds between recipes; the second photo of a part is half a step on
REPORTED_STEP = 2_000
BANK_SEED = 2_718_281
HALF = 0  # of the held-out letters and backgrounds; the other half is for what is reported
CHUNK = 4
QUALITIES = (70, 80, 88, 94)


@dataclass(frozen=True)
class Kept:
    """One part as read: what was photographed, and the markings without their pixels."""

    job: Job
    facts: tuple[Facts, ...]
    markings: tuple[Marking, ...]
    seconds: float


def jobs(
    photos: int,
    kinds: Iterable[str] = tuple(RECIPES),
    first: int = FIRST_SEED,
    step: int = STEP,
) -> list[Job]:
    """Parts to photograph, all recipes in turn, so that a run cut short has some of each.

    Every other part is told; every sixth has two photos; all went through a JPEG.
    """
    made = []
    for k in range(photos):
        for kind in kinds:
            seed = first + step * list(RECIPES).index(kind) + k
            pair = k % 6 == 4 and RECIPES[kind].part != "none"
            seeds = (seed, seed + step // 2) if pair else (seed,)
            quality = QUALITIES[(k + seed // STEP) % len(QUALITIES)]
            made.append(Job(kind, seeds, k % 2 == 0, seed, quality))
    return made


def set_jobs(
    photos: int, first: int = FIRST_SET_SEED, families: Iterable[str] = tuple(FAMILIES)
) -> list[Job]:
    """Parts with a text of a family of `families.FAMILIES`: names alone, widths alone, no bicycle.

    The families come in turn as often as they say; no part is told.
    """
    made = []
    for k in range(photos):
        for name in families:
            family = FAMILIES[name]
            for n in range(family.often):
                seed = first + STEP * list(FAMILIES).index(name) + family.often * k + n
                rng = np.random.default_rng((seed, 11))
                recipe = family.recipes[int(rng.integers(len(family.recipes)))]
                quality = QUALITIES[seed % len(QUALITIES)]
                made.append(Job(recipe, (seed,), False, seed, quality, family.draw(rng)))
    return made


def group(kept: Kept) -> str:
    """Family of texts of a part, or its recipe where no text was chosen for it."""
    if not kept.job.text:
        return "whole, moulded" if kept.job.recipe == "whole" else kept.job.recipe
    seed = kept.job.seeds[0]
    first = FIRST_SET_SEED if seed >= FIRST_SET_SEED else REPORTED_SET_SEED
    return list(FAMILIES)[(seed - first) // STEP]


def keep(job: Job, reading: Reading) -> tuple[tuple[Marking, ...], float]:
    """The farm's digest: markings without pixels, and the time it took."""
    return thin(reading.markings), reading.seconds


def append(path: Path, kept: Sequence[Any]) -> None:
    """Add a chunk: 8 bytes of length, then the packed parts."""
    data = zlib.compress(pickle.dumps(list(kept)), 9)
    with path.open("ab") as stream:
        stream.write(struct.pack(">Q", len(data)) + data)


def load(path: Path) -> list[Any]:
    """All whole chunks; a torn one at the end is cut off the file, so that it can go on."""
    found: list[Any] = []
    if not path.exists():
        return found
    with path.open("r+b") as stream:
        while True:
            start = stream.tell()
            head = stream.read(8)
            data = stream.read(struct.unpack(">Q", head)[0]) if len(head) == 8 else b""
            if len(head) < 8 or len(data) < struct.unpack(">Q", head)[0]:
                stream.truncate(start)
                return found
            found += _Unpickler(io.BytesIO(zlib.decompress(data))).load()


class _Unpickler(pickle.Unpickler):
    """Finds what a run of this file as a program kept, whoever reads it."""

    def find_class(self, module: str, name: str) -> Any:
        here = module == "__main__" and name in globals()
        return globals()[name] if here else super().find_class(module, name)


def read_more(
    path: Path,
    wanted: Iterable[Job],
    workers: int,
    device: str,
    carry: Path,
    half: int = HALF,
) -> Iterator[str]:
    """Photograph and read what the file lacks; yields a line of progress per chunk."""
    had = {one.job for one in load(path)}
    missing = [job for job in wanted if job not in had]
    began, count, failed = time.perf_counter(), 0, 0
    chunk: list[Kept] = []
    for done in read_shots(missing, workers, device, Stock(carry, BANK_SEED + half, 4, half), keep):
        count += 1
        if done.error:
            failed += 1
            yield f"{done.job.name} failed: {done.error}"
            continue
        chunk.append(Kept(done.job, done.facts, *done.record))
        if len(chunk) >= CHUNK or count == len(missing):
            append(path, chunk)
            chunk = []
            spent = time.perf_counter() - began
            yield f"{count} of {len(missing)} parts, {failed} failed, {spent / count:.2f} s each"
    if chunk:
        append(path, chunk)


def true_size(facts: Facts, tables: Tables, seed: int = 0) -> Size | None:
    """The size of the part that bears the set text, None where none stood there.

    A text with a pair names it, whatever name stands beside it. What an inch or French name alone
    means no photograph tells, so the maker's meaning is drawn as often as the tables say that it is
    meant.
    """
    if not facts.truth:
        return None
    part: PartKind = "rim" if facts.part == "rim" else "tyre"
    for bsd, width in settles(facts.truth, part == "rim"):
        return Size(bsd, width)
    named = sorted(parse_text(facts.truth), key=lambda one: len(one.text), reverse=True)
    for marking in named:
        found = meanings(marking.notation, marking.numbers, tables)
        fitting = [one for one in found if one.part in (part, "unknown")] or list(found)
        if fitting:
            shares = np.array([one.share for one in fitting])
            rng = np.random.default_rng((seed, 5))
            return fitting[int(rng.choice(len(shares), p=shares / shares.sum()))].size
    return None


def weigh(kept: Kept, tables: Tables) -> tuple[Features, bool, bool] | None:
    """Features of the answer, whether its size is right, whether its diameter; None if open.

    An answer that leaves open a width which the set text tells has not found the size.
    """
    facts = kept.facts[0]
    told = kept.job.told and facts.part in ("tyre", "rim")
    part: PartKind = "unknown" if not told else "rim" if facts.part == "rim" else "tyre"
    answer = evidence_features(kept.markings, part, tables)
    if answer is None:
        return None
    size, seen = answer
    truth = true_size(facts, tables, kept.job.seeds[0])
    seat = truth is not None and size.bsd == truth.bsd
    return seen, size == truth, seat


def main(arguments: Sequence[str] | None = None) -> None:
    """Photograph, read, weigh and write."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.calibrate.collect", description=__doc__
    )
    parser.add_argument("--photos", type=int, default=0, help="parts a recipe")
    parser.add_argument("--rounds", type=int, default=0, help="rounds of all families of texts")
    parser.add_argument("--families", nargs="+", choices=list(FAMILIES), default=list(FAMILIES))
    parser.add_argument(
        "--reported", action="store_true", help="rounds of other seeds, letters and grounds"
    )
    parser.add_argument("--seconds", type=float, default=1e9, help="time after which to pause")
    parser.add_argument("--workers", type=int, default=2, help="processes that read")
    parser.add_argument("--device", default="cpu", help="where photographs are rendered")
    parser.add_argument("--kinds", nargs="+", choices=list(RECIPES), default=list(RECIPES))
    parser.add_argument("--carry", type=Path, default=Path("carry"), help="fonts, backgrounds")
    parser.add_argument("--evidence", type=Path, default=Path("carry/evidence.bin"))
    parser.add_argument("--out", type=Path, default=Path("carry/answers.csv"))
    chosen = parser.parse_args(arguments)
    if chosen.reported:
        half = 1
        wanted = jobs(chosen.photos, chosen.kinds, REPORTED_SEED, REPORTED_STEP)
        wanted += set_jobs(chosen.rounds, REPORTED_SET_SEED, chosen.families)
    else:
        half = HALF
        wanted = jobs(chosen.photos, chosen.kinds)
        wanted += set_jobs(chosen.rounds, FIRST_SET_SEED, chosen.families)
    if chosen.rounds:
        np.random.default_rng(7).shuffle(wanted)
    until = time.monotonic() + chosen.seconds
    told = read_more(chosen.evidence, wanted, chosen.workers, chosen.device, chosen.carry, half)
    for line in told:
        print(line, flush=True)
        if time.monotonic() > until:
            break
    tables = load_tables()
    kept = load(chosen.evidence)
    answers = [answer for one in kept if (answer := weigh(one, tables))]
    write_answers(chosen.out, answers)
    print(f"wrote {chosen.out}: {len(answers)} answers to {len(kept)} parts")


if __name__ == "__main__":
    main()
