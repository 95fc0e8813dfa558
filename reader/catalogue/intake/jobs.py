"""What one worker does: read the photos of one part. Runs in another process or machine."""

from __future__ import annotations

import gc
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from reader.catalogue.db.records import Failure, Findings, PhotoRef
from reader.catalogue.intake.findings import findings_of
from reader.errors import PhotoError, ReaderError
from reader.language import N_
from reader.memory import give_back
from reader.pipeline import Settings
from reader.records import PartKind, Photo

if TYPE_CHECKING:
    from reader.sweep.read import Source


LARGE = 24_000_000  # pixels, which take much memory; phones' usual photos have 12 million


@dataclass(frozen=True)
class Job:
    """The photos of one part, to be read."""

    source: str
    photos: tuple[PhotoRef, ...]
    kind: PartKind = "unknown"
    # Of the files, where the worker may not see the disk; None: it can't be opened.
    contents: tuple[bytes | None, ...] = ()


@dataclass(frozen=True)
class Outcome:
    """What came of a job."""

    findings: Findings | None  # None: no photo could be read
    failures: Mapping[str, Failure] = field(default_factory=dict)  # faults of photos, by digest
    put_off: str = ""  # why nothing of the job may be kept now; the same command tries it again


PartReader = Callable[[Job], Outcome]  # must pickle


def all_failed(job: Job, failure: Failure) -> Outcome:
    """The outcome of a job of which nothing could be read."""
    return Outcome(None, {photo.digest: failure for photo in job.photos})


def read_job(job: Job, settings: Settings | None = None) -> Outcome:
    """Read the photos of one part with the real pipeline.

    Raises:
        EngineError: no engine works here, so that going on is no use.
        InputError: the settings or the tables make no sense.
    """
    outcome, pixels = _read(job, settings or Settings())
    if pixels > LARGE:
        gc.collect()  # a photo's regions and markings hold each other, and with them its pixels
    give_back()
    return outcome


def _read(job: Job, settings: Settings) -> tuple[Outcome, int]:
    """What came of it, and how many pixels the photos had."""
    from reader.sweep import read_sources

    photos, failures, put_off = _load(job)
    if put_off:
        return Outcome(None, {}, put_off), 0
    if not photos:
        return Outcome(None, failures), 0
    pixels = sum(math.prod(one.shape) for one in photos if isinstance(one, Photo))
    try:
        reading = read_sources(photos, settings)
        failures |= _clips_failed(job, photos)
        return Outcome(findings_of(reading, settings.engines), failures), pixels
    except PhotoError:  # clips only, and none of them can be decoded
        return Outcome(None, failures | _clips_failed(job, photos)), pixels
    except ReaderError:
        raise
    except Exception as error:  # one odd photo must not stop three thousand others
        failed = N_(f"reading failed ({type(error).__name__}: {error})")
        return Outcome(None, {}, failed), pixels


def _clips_failed(job: Job, sources: Sequence[Source]) -> dict[str, Failure]:
    """Faults of the clips that could not be decoded, by digest."""
    errors = {source.name: source.error for source in sources if not isinstance(source, Photo)}
    return {
        ref.digest: Failure(error.message, error.remedy)
        for ref in job.photos
        if (error := errors.get(ref.name)) is not None
    }


def _load(job: Job) -> tuple[list[Source], dict[str, Failure], str]:
    """The photos and clips, the faults of those that are none, and what else is in the way."""
    from reader.photo.load import load
    from reader.sweep import Clip, is_clip

    photos: list[Source] = []
    failures: dict[str, Failure] = {}
    for index, ref in enumerate(job.photos):
        try:
            data = job.contents[index] if job.contents else Path(ref.path).read_bytes()
        except OSError as error:
            return [], {}, N_(f"{ref.path} can't be opened now ({error.strerror})")
        if data is None:
            return [], {}, N_(f"{ref.path} can't be opened now")
        if blake2b(data, digest_size=20).hexdigest() != ref.digest:
            return [], {}, N_(f"{ref.path} changed while it was being read")
        try:
            if is_clip(data):
                photos.append(Clip(data, ref.name, job.kind))
            else:
                photos.append(replace(load(data, ref.name), part=job.kind))
        except PhotoError as error:
            failures[ref.digest] = Failure(error.message, error.remedy)
    return photos, failures, ""
