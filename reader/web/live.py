"""Live sweeps: frames of a phone's camera to a process that answers each with what it knows.

One process serves all phones, one frame at a time; a phone sends its next frame when it has the
answer to the last, so that nothing queues up. A process that dies is started anew; its phones go on
with a fresh sweep.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from reader.records import PartKind
from reader.web.readers import Busy
from reader.web.worker import Outcome

PHONES = 4  # sweeps at once
IDLE = 60.0  # seconds without a frame after which a sweep is forgotten
PATIENCE = 15.0  # seconds for one frame, 60 for the answer


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
        self._process: Any = None
        self._pipe: Connection | None = None
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
        pipe = self._ready()
        try:
            pipe.send(what)
            if pipe.poll(PATIENCE * (4 if isinstance(what, Finish) else 1)):
                return pipe.recv()
        except (EOFError, OSError):
            pass
        self._kill()
        raise Busy

    def _ready(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            context = multiprocessing.get_context("spawn")
            self._pipe, other = context.Pipe()
            self._process = context.Process(target=serve, args=(other,), daemon=True)
            self._process.start()
            other.close()
        return self._pipe

    def _kill(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        self._process = self._pipe = None

    def close(self) -> None:
        """End the process."""
        self._kill()


def serve(pipe: Connection) -> None:
    """The process: answer looks and ends until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError):
        os.nice(5)
    from reader.web.looking import Sweeps
    from reader.web.worker import warm_up

    warm_up()
    sweeps = Sweeps(IDLE, time.monotonic)
    answer: Callable[[Any], dict[str, Any] | Outcome] = sweeps.answer
    while True:
        try:
            asked = pipe.recv()
        except EOFError:
            return
        pipe.send(answer(asked))
