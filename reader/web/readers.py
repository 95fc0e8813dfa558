"""A few reading processes behind a queue with a limit.

Each process has one thread here that hands it work and listens. A process that dies or takes too
long fails its own part only and is started anew.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import queue
import signal
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Protocol

from reader.web.worker import Outcome, Task, Work, read_part, warm_up

BROKEN = Outcome(
    None,
    error="this photo could not be read",
    remedy="take it again, or send it as an ordinary JPEG picture",
)
SLOW = Outcome(
    None,
    error="reading took too long",
    remedy="send fewer photos at once, or go closer to the marking",
)
CLOSED = Outcome(None, error="the server is stopping", remedy="start it again, then send the photo")


class Busy(Exception):
    """The queue is full."""


class Listener(Protocol):
    """Who wants to hear how the reading goes; called from the readers' threads."""

    def on_progress(self, step: str, share: float) -> None:
        """A step began or went on; `share` is 0..1 of the whole."""

    def on_end(self, outcome: Outcome) -> None:
        """The end, good or bad; called exactly once."""


class Readers:
    """Starts the processes at once; `submit` never waits."""

    def __init__(self, work: Work, workers: int, waiting: int, seconds: float) -> None:
        self._jobs: queue.Queue[tuple[Task, Listener] | None] = queue.Queue()
        self._most = waiting
        self._work = work
        self._seconds = seconds
        self._closing = threading.Event()
        self._threads = [
            threading.Thread(target=self._look_after, name=f"reader-{number}", daemon=True)
            for number in range(workers)
        ]
        for thread in self._threads:
            thread.start()

    def submit(self, task: Task, listener: Listener, accepted: bool = False) -> None:
        """Put a part in the queue; one that was `accepted` before a restart always finds room.

        Raises:
            Busy: as many parts as allowed are waiting already.
        """
        if self._closing.is_set() or (not accepted and self.full):
            raise Busy
        self._jobs.put((task, listener))

    @property
    def full(self) -> bool:
        """Whether newcomers have to wait before they may stand in the queue."""
        return self._closing.is_set() or self._jobs.qsize() >= self._most

    @property
    def waiting(self) -> int:
        """Parts in the queue that no process has taken up yet."""
        return self._jobs.qsize()

    def close(self) -> None:
        """Stop all processes; parts still waiting end with a clear error."""
        self._closing.set()
        while True:
            try:
                job = self._jobs.get_nowait()
            except queue.Empty:
                break
            if job:
                job[1].on_end(CLOSED)
        for _ in self._threads:
            self._jobs.put(None)
        for thread in self._threads:
            thread.join(timeout=5)

    def _look_after(self) -> None:
        child = Child(self._work)
        while not self._closing.is_set():
            job = self._jobs.get()
            if job is None:
                break
            outcome = child.read(job[0], job[1].on_progress, self._seconds, self._closing)
            job[1].on_end(outcome)
            if not child.alive and not self._closing.is_set():
                child = Child(self._work)
        child.kill()


class Child:
    """One reading process and the pipe to it."""

    def __init__(self, work: Work) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, other = context.Pipe()
        self._process = context.Process(target=serve, args=(other, work), daemon=True)
        self._process.start()
        other.close()

    @property
    def alive(self) -> bool:
        """Whether it can take another part."""
        return self._process.is_alive()

    def read(
        self,
        task: Task,
        progress: Callable[[str, float], None],
        seconds: float,
        closing: threading.Event,
    ) -> Outcome:
        """Hand over one part and wait for its outcome; never raises for trouble over there."""
        end = time.monotonic() + seconds
        try:
            self._pipe.send(task)
            while not closing.is_set() and time.monotonic() < end:
                if not self._pipe.poll(0.2):
                    continue
                kind, *rest = self._pipe.recv()
                if kind == "end":
                    outcome: Outcome = rest[0]
                    return outcome
                progress(*rest)
        except (EOFError, OSError):
            self.kill()
            return BROKEN
        self.kill()
        return CLOSED if closing.is_set() else SLOW

    def kill(self) -> None:
        """End the process, whatever it is doing."""
        self._process.kill()
        self._process.join(timeout=5)
        self._pipe.close()


def serve(pipe: Connection, work: Work) -> None:
    """The reading process: take a task, do it, send the outcome, until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then ends us
    with contextlib.suppress(OSError):
        os.nice(10)  # the page itself goes first
    if work is read_part:
        warm_up()
    while True:
        try:
            task = pipe.recv()
        except EOFError:
            return
        pipe.send(("end", attempt(work, task, lambda step, share: pipe.send(("on", step, share)))))


def attempt(work: Work, task: Task, progress: Callable[[str, float], None]) -> Outcome:
    """Do the work; what went wrong inside stays inside."""
    try:
        return work(task, progress)
    except Exception:  # a broken picture can raise anything, and the next part must be read
        import logging

        logging.getLogger(__name__).exception("reading failed")
        return BROKEN
