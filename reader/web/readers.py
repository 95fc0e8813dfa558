"""A few reading processes behind a queue with a limit.

Each process has one thread here that hands it work and listens. A process that dies or takes too
long fails its own part only and is started anew.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from functools import partial
from typing import Protocol

from reader.processes import Answer, Child, Died, Stopped, TooLate
from reader.web.worker import Outcome, Task, Work, read_part, warm_up

BEHIND = 10  # the page itself goes first
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
        child = self._child()
        while not self._closing.is_set():
            job = self._jobs.get()
            if job is None:
                break
            job[1].on_end(self._read(child, *job))
            if not child.alive and not self._closing.is_set():
                child = self._child()
        child.kill()

    def _child(self) -> Child:
        return Child(ready, self._work, nice=BEHIND)

    def _read(self, child: Child, task: Task, listener: Listener) -> Outcome:
        """Hand over one part and wait for its outcome; never raises for trouble over there."""
        try:
            outcome: Outcome = child.ask(task, self._seconds, listener.on_progress, self._closing)
            return outcome
        except Died:
            return BROKEN
        except TooLate:
            return SLOW
        except Stopped:
            return CLOSED


def ready(work: Work) -> Answer:
    """In the reading process: what answers tasks; what goes wrong inside stays inside."""
    if work is read_part:
        warm_up()
    return partial(attempt, work)


def attempt(work: Work, task: Task, progress: Callable[[str, float], None]) -> Outcome:
    """Do the work; what went wrong inside stays inside."""
    try:
        return work(task, progress)
    except Exception:  # a broken picture can raise anything, and the next part must be read
        import logging

        logging.getLogger(__name__).exception("reading failed")
        return BROKEN
