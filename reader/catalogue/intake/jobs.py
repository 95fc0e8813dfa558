"""What one worker does: read the photos of one part. Runs in another process or machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from reader.catalogue.db.records import Findings, PhotoRef
from reader.catalogue.intake.findings import findings_of
from reader.errors import EngineError, PhotoError
from reader.pipeline import Settings
from reader.records import PartKind, Photo


@dataclass(frozen=True)
class Job:
    """The photos of one part, to be read."""

    source: str
    photos: tuple[PhotoRef, ...]
    kind: PartKind = "unknown"
    contents: tuple[bytes, ...] = ()  # of the files, where the worker may not see the disk


@dataclass(frozen=True)
class Outcome:
    """What came of a job."""

    findings: Findings | None  # None: no photo could be read
    failures: Mapping[str, str] = field(default_factory=dict)  # digest -> reason


PartReader = Callable[[Job], Outcome]  # must pickle


def all_failed(job: Job, reason: str) -> Outcome:
    """The outcome of a job of which nothing could be read."""
    return Outcome(None, {photo.digest: reason for photo in job.photos})


def read_job(job: Job, settings: Settings | None = None) -> Outcome:
    """Read the photos of one part with the real pipeline.

    Raises:
        EngineError: no engine works here, so that going on is no use.
    """
    from reader import pipeline

    photos, failures = _load(job)
    if not photos:
        return Outcome(None, failures)
    try:
        reading = pipeline.read(photos, settings)
        return Outcome(findings_of(reading), failures)
    except EngineError:
        raise
    except Exception as error:  # one odd photo must not stop three thousand others
        reason = f"reading failed ({type(error).__name__}: {error})"
        return Outcome(None, {**all_failed(job, reason).failures, **failures})


def _load(job: Job) -> tuple[list[Photo], dict[str, str]]:
    from reader.photo.load import load

    photos: list[Photo] = []
    failures: dict[str, str] = {}
    for index, ref in enumerate(job.photos):
        try:
            data = job.contents[index] if job.contents else Path(ref.path)
            photos.append(replace(load(data, ref.name), part=job.kind))
        except PhotoError as error:
            failures[ref.digest] = error.message
    return photos, failures
