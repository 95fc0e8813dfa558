"""The reading processes of this machine, one part at a time each."""

from __future__ import annotations

import os
import threading
from queue import SimpleQueue
from typing import Protocol

from reader.catalogue.db.records import Failure
from reader.catalogue.intake.jobs import Job, Outcome, PartReader, all_failed
from reader.catalogue.intake.room import Room
from reader.language import N_
from reader.processes import ONE_THREAD, Answer, Child, Died

DIED = Failure(
    N_("the reading process died on it (out of memory?)"),
    N_("close other programs, then try it again with --retry"),
)


class Crew(Protocol):
    """Who reads: takes jobs while it has room, gives back outcomes in any order."""

    def has_room(self) -> bool:
        """Whether another job should be handed over now."""

    def busy(self) -> bool:
        """Whether outcomes are still to come."""

    def submit(self, job: Job) -> None:
        """Hand over a job."""

    def finished(self) -> list[tuple[Job, Outcome]]:
        """Wait for at least one outcome."""

    def close(self, stop: bool = False) -> None:
        """End; with `stop`, at once and without the outcomes still missing."""


def cores() -> int:
    """How many processor cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class LocalCrew:
    """Processes of this machine; a process that dies costs only the photo that killed it."""

    def __init__(self, read: PartReader, workers: int | None = None) -> None:
        self._read = read
        self._workers = workers or cores()
        self._jobs: SimpleQueue[Job | None] = SimpleQueue()
        self._done: SimpleQueue[tuple[Job, Outcome | Exception]] = SimpleQueue()
        self._room = Room(self._workers)
        self._running = 0
        self._stop = threading.Event()
        self._threads = [
            threading.Thread(target=self._look_after, daemon=True) for _ in range(self._workers)
        ]
        for thread in self._threads:
            thread.start()

    def has_room(self) -> bool:
        """Whether another job should be handed over now: two a worker keep all of them fed."""
        return self._running < 2 * self._workers

    def busy(self) -> bool:
        """Whether outcomes are still to come."""
        return self._running > 0

    def submit(self, job: Job) -> None:
        """Hand over a job."""
        self._running += 1
        self._jobs.put(job)

    def finished(self) -> list[tuple[Job, Outcome]]:
        """Wait for at least one outcome.

        Raises:
            EngineError: no engine works.
        """
        outcomes: list[tuple[Job, Outcome]] = []
        while not outcomes or not self._done.empty():
            job, outcome = self._done.get()
            self._running -= 1
            if isinstance(outcome, Exception):
                raise outcome
            outcomes.append((job, outcome))
        return outcomes

    def _look_after(self) -> None:
        """One thread for each process, started with its first job and anew after a death."""
        child: Child | None = None
        while (job := self._jobs.get()) is not None and not self._stop.is_set():
            if child is None or not child.alive:
                child = Child(ready, self._read, env=ONE_THREAD)
            self._done.put((job, self._ask(child, job)))
        if child is not None:
            child.kill()

    def _ask(self, child: Child, job: Job) -> Outcome | Exception:
        try:
            with self._room.for_job(job):
                outcome: Outcome = child.ask(job, stop=self._stop)
            return outcome
        except Died:
            return all_failed(job, DIED)
        except Exception as error:  # raised again where outcomes are waited for
            return error

    def close(self, stop: bool = False) -> None:
        """End; with `stop`, at once and without the outcomes still missing."""
        if stop:
            self._stop.set()
        for _ in self._threads:
            self._jobs.put(None)
        for thread in self._threads:
            thread.join()


def ready(read: PartReader) -> Answer:
    """In the reading process: what answers jobs."""
    import cv2

    cv2.setNumThreads(1)
    return lambda job, progress: read(job)
