"""The reading processes of this machine."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any, Protocol

from reader.catalogue.db.records import Failure
from reader.catalogue.intake import room
from reader.catalogue.intake.jobs import Job, Outcome, PartReader, all_failed

DIED = Failure(
    "the reading process died on it (out of memory?)",
    "close other programs, then try it again with --retry",
)
# One thread a process: a process for each core is faster than threads that share them.
ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OMP_THREAD_LIMIT": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "TYREMARK_THREADS": "1",
}


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
        self._running: dict[Future[Outcome], Job] = {}
        self._start()

    def _start(self) -> None:
        context = get_context("spawn")
        # Only this process holds the writing end: when it ends in any way, kill -9 included,
        # the workers see the pipe close, and go too.
        reader, self._alive = context.Pipe(duplex=False)
        few = context.BoundedSemaphore(room.at_once(self._workers))
        self._pool = ProcessPoolExecutor(
            self._workers, mp_context=context, initializer=_begin, initargs=(reader, few)
        )

    def has_room(self) -> bool:
        """Whether another job should be handed over now: two a worker keep all of them fed."""
        return len(self._running) < 2 * self._workers

    def busy(self) -> bool:
        """Whether outcomes are still to come."""
        return bool(self._running)

    def submit(self, job: Job) -> None:
        """Hand over a job."""
        try:
            future = self._send(job)
        except BrokenProcessPool as error:  # a death not yet seen by `finished`, which mends it
            future = Future()
            future.set_exception(error)
        self._running[future] = job

    def _send(self, job: Job) -> Future[Outcome]:
        with _quiet_children():
            return self._pool.submit(self._read, job)

    def finished(self) -> list[tuple[Job, Outcome]]:
        """Wait for at least one outcome.

        Raises:
            EngineError: no engine works.
        """
        done, _ = wait(self._running, return_when=FIRST_COMPLETED)
        outcomes: list[tuple[Job, Outcome]] = []
        suspects: list[Job] = []
        for future in done:
            job = self._running.pop(future)
            try:
                outcomes.append((job, future.result()))
            except BrokenProcessPool:
                suspects.append(job)
        if suspects:
            suspects += self._running.values()
            self._running.clear()
            self._restart()
            outcomes += [(job, self._alone(job)) for job in suspects]
        return outcomes

    def _alone(self, job: Job) -> Outcome:
        """Read a job with no other beside it, so that a death tells which job is to blame."""
        try:
            return self._send(job).result()
        except BrokenProcessPool:
            self._restart()
            return all_failed(job, DIED)

    def _restart(self) -> None:
        self.close(stop=True)
        self._start()

    def close(self, stop: bool = False) -> None:
        """End; with `stop`, at once and without the outcomes still missing."""
        if stop:
            self._alive.close()
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._alive.close()


def _begin(alive: Connection, few: AbstractContextManager[Any]) -> None:
    """First act of each worker."""
    import cv2

    cv2.setNumThreads(1)
    room.share(few)

    def watch() -> None:
        try:
            alive.recv_bytes()
        except (EOFError, OSError):
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _quiet_children() -> Iterator[None]:
    """Processes started inside hear no Ctrl-C and use one thread each; the parent decides."""
    old = {name: os.environ.get(name) for name in ONE_THREAD}
    has_masks = hasattr(signal, "pthread_sigmask")  # Windows has none
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if has_masks else set()
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in old.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
        if has_masks:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
