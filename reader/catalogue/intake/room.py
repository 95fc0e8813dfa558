"""Room for large photos: one of 50 megapixels takes half a GB while it is read.

So only half of the workers of one machine (on two cores: one) read large photos at the same time;
the others go on with ordinary ones. Without this, memory would be a matter of luck.
"""

from __future__ import annotations

import threading
from contextlib import AbstractContextManager, nullcontext, suppress
from pathlib import Path
from typing import Any

from reader.catalogue.intake.jobs import LARGE, Job
from reader.errors import ReaderError
from reader.photo.load import size


class Room:
    """Lets in the jobs of one machine."""

    def __init__(self, workers: int) -> None:
        self._few = threading.BoundedSemaphore(max(1, workers // 2))

    def for_job(self, job: Job) -> AbstractContextManager[Any]:
        """What to hold while the job is read: entering it may have to wait."""
        return self._few if _is_large(job) else nullcontext()


def _is_large(job: Job) -> bool:
    """Whether any of its photos is, by its header; what can't be opened is not."""
    for photo in job.photos:
        with suppress(ReaderError):
            wide, high = size(Path(photo.path), photo.name)
            if wide * high > LARGE:
                return True
    return False
