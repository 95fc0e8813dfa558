"""A reader for tests: quick, and its answer depends on the photos' content alone.

Worker processes import it by name, so conftest puts this folder on the path.
"""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import numpy as np
import seen

from reader.catalogue.db.records import Failure
from reader.catalogue.intake.findings import findings_of
from reader.catalogue.intake.jobs import Job, Outcome
from reader.records import Candidate, Evidence, Reading, Size, Verdict

SIZES = ((47, 507), (37, 622), (28, 622), (57, 559), (40, 635), (37, 590), (32, 597), (20, 451))


def reading_for(number: int, names: tuple[str, ...] = ("a.png",)) -> Reading:
    """A reading made up from a number: sometimes sure, sometimes not."""
    width, bsd = SIZES[number % len(SIZES)]
    other = SIZES[(number // 8 + 1 + number) % len(SIZES)]
    first = (0.995, 0.8, 0.55)[number % 3]
    verdict = (Verdict.SURE, Verdict.LIKELY, Verdict.CANT_TELL)[number % 3]
    grey = np.full((16, 64), number % 251, np.uint8)
    text = seen.line(f"{width}-{bsd}", photo=names[0], pixels=grey, engine="fake")
    marking = seen.marking(text, "iso_pair", {"width_mm": width, "bsd_mm": bsd})
    evidence = (Evidence("ISO pair read", text.text, 3.0, names[0], "fake"),)
    return Reading(
        candidates=(
            Candidate(Size(bsd, float(width)), "tyre", first, evidence),
            Candidate(Size(other[1], float(other[0])), "tyre", round(0.999 - first, 6)),
        ),
        verdict=verdict,
        part="tyre",
        photos=names,
        markings=(marking,),
        seconds=time.perf_counter() % 1,
    )


def read(job: Job) -> Outcome:
    """Read a job: b'BAD…' fails, b'KILL…' kills the process."""
    time.sleep(float(os.environ.get("FAKE_DELAY", "0")))
    failures: dict[str, Failure] = {}
    good = []
    for index, photo in enumerate(job.photos):
        data = job.contents[index] if job.contents else Path(photo.path).read_bytes()
        if data.startswith(b"KILL"):
            os.kill(os.getpid(), signal.SIGKILL)
        if data.startswith(b"BAD"):
            failures[photo.digest] = Failure("not a photo", "take it again")
        else:
            good.append(photo)
    if not good:
        return Outcome(None, failures)
    number = sum(int(photo.digest[:8], 16) for photo in good)
    names = tuple(photo.name for photo in good)
    return Outcome(findings_of(reading_for(number, names)), failures)


class Here:
    """Reads in this process and counts what it was asked."""

    def __init__(self) -> None:
        self.jobs: list[Job] = []
        self._done: list[tuple[Job, Outcome]] = []
        self.most = 0

    def __call__(self) -> Here:
        return self

    def has_room(self) -> bool:
        return len(self._done) < 3

    def busy(self) -> bool:
        return bool(self._done)

    def submit(self, job: Job) -> None:
        self.jobs.append(job)
        self._done.append((job, read(job)))
        self.most = max(self.most, len(self._done))

    def finished(self) -> list[tuple[Job, Outcome]]:
        return [self._done.pop()]  # newest first: the order must not matter

    def close(self, stop: bool = False) -> None:
        self._done.clear()
