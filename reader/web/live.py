"""Live sweeps: frames of a phone's camera to a process that answers each with what it knows.

One process serves all phones, one frame at a time; a phone sends its next frame when it has the
answer to the last, so that nothing queues up. A process that dies is started anew; its phones go on
with a fresh sweep.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reader.processes import Answer, Child, Died, TooLate
from reader.records import PartKind
from reader.web.readers import Busy

PHONES = 4  # sweeps at once
IDLE = 60.0  # seconds without a frame after which a sweep is forgotten
PATIENCE = 15.0  # seconds for one frame
FINISH = 4  # times as long for the answer
BEHIND = 5  # the page itself goes first


@dataclass(frozen=True)
class Look:
    """One frame of one sweep."""

    name: str
    frame: bytes
    kind: PartKind
    market: str


@dataclass(frozen=True)
class Finish:
    """The end of one sweep; pictures are written to `folder`."""

    name: str
    folder: Path


class Live:
    """The process for live sweeps, started with the first one that is announced."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._child: Child | None = None
        self._phones = 0

    def start(self) -> None:
        """Have the process ready, so that the first frame does not wait for it."""
        with self._lock:
            self._ready()

    def ask(self, what: Look | Finish) -> Any:
        """What the process says: a dict for a look, an `Outcome` for the end.

        Raises:
            Busy: more phones ask at once than may, or the process had to be started anew.
        """
        if self._phones >= PHONES:
            raise Busy
        self._phones += 1
        try:
            with self._lock:
                return self._ask(what)
        finally:
            self._phones -= 1

    def _ask(self, what: Look | Finish) -> Any:
        child = self._ready()
        try:
            return child.ask(what, PATIENCE * (FINISH if isinstance(what, Finish) else 1))
        except (Died, TooLate):
            self._child = None
            raise Busy from None

    def _ready(self) -> Child:
        if self._child is None or not self._child.alive:
            self._child = Child(ready, nice=BEHIND)
        return self._child

    def close(self) -> None:
        """End the process."""
        if self._child is not None:
            self._child.kill()
        self._child = None


def ready() -> Answer:
    """In the process: what answers looks and ends."""
    from reader.web.looking import Sweeps
    from reader.web.worker import warm_up

    warm_up()
    sweeps = Sweeps(IDLE, time.monotonic)
    return lambda asked, progress: sweeps.answer(asked)
