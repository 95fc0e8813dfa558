"""The guarded process that decodes pictures, as its owner sees it.

Nobody vouches for a picture's bytes: a damaged or hostile one can end the process that decodes it,
or fill the machine's memory. So pixels, camera times and QR codes all come from a process of their
own with limits of memory and time. One process serves picture after picture; one that dies costs
that picture only, and the next gets a new one.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import threading
from pathlib import Path
from queue import Empty, LifoQueue
from typing import IO, Any

from reader.errors import EngineError, PhotoError
from reader.photo.child import READY
from reader.photo.header import refuse_size
from reader.photo.upright import upright
from reader.processes import decoder, end
from reader.records import Pixels

SECONDS = 60.0  # for one picture; 50 megapixels take five on one busy core
START_SECONDS = 60.0
OTHERWISE = "open it in a viewer and save it as an ordinary JPEG"


class Guard:
    """One decoding process and the pipes to it. Not for two threads at once."""

    def __init__(self) -> None:
        self._owner = os.getpid()
        self._ready = False
        self._process = decoder("reader.photo.child")

    @property
    def usable(self) -> bool:
        """Whether it can take a picture; one that came here by a fork belongs to the parent."""
        return self._owner == os.getpid() and self._process.poll() is None

    def pixels(self, name: str, source: Path | bytes) -> Pixels:
        """The upright picture, H x W x 3.

        Raises:
            PhotoError: it can't be decoded, or the process died or took too long over it.
            EngineError: the process can't be started at all.
        """
        return self._asked("pixels", name, source, self._read_pixels)

    def answer(self, want: str, name: str, source: Path | bytes) -> Any:
        """Its width and height ('size'), camera time ('taken') or QR codes ('codes').

        Raises:
            PhotoError, EngineError: as for `pixels`.
        """
        return self._asked(want, name, source, lambda answer: answer[want])

    def _asked(self, want: str, name: str, source: Path | bytes, take: Any) -> Any:
        late = threading.Event()
        clock = threading.Timer(
            SECONDS if self._ready else SECONDS + START_SECONDS, self._too_late, [late]
        )
        clock.daemon = True
        clock.start()
        try:
            self._wait_for_start()
            self._send(want, name, source)
            answer = json.loads(self._out.readline())
            if "error" not in answer:
                return take(answer)
        except (OSError, EOFError, ValueError, KeyError) as error:
            self.close()
            if not self._ready:
                raise EngineError(
                    "the process that decodes pictures can't be started",
                    "install tyremark again, and see that there is free memory",
                ) from error
            raise self._explained(name, late.is_set()) from error
        except BaseException:  # stopped half-way: what is still in the pipe fits no other question
            self.close()
            raise
        finally:
            clock.cancel()
        raise PhotoError(str(answer["error"]), str(answer["remedy"]))

    @property
    def _out(self) -> IO[bytes]:
        assert self._process.stdout is not None
        return self._process.stdout

    def _wait_for_start(self) -> None:
        if not self._ready:
            if self._out.readline() != READY:
                raise EOFError
            self._ready = True

    def _send(self, want: str, name: str, source: Path | bytes) -> None:
        to = self._process.stdin
        assert to is not None
        request: dict[str, Any] = {"want": want, "name": name}
        if isinstance(source, Path):
            request["path"] = os.path.abspath(source)  # noqa: PTH100 (resolves no links)
        else:
            request["bytes"] = len(source)
        to.write(json.dumps(request).encode() + b"\n")
        if not isinstance(source, Path):
            to.write(source)
        to.flush()

    def _read_pixels(self, answer: dict[str, Any]) -> Pixels:
        rows, cols, turn = (int(answer[key]) for key in ("rows", "cols", "turn"))
        refuse_size((cols, rows), "the photo")  # before room for it is taken
        out, stored = upright(rows, cols, turn)
        step = 256
        for top in range(0, rows, step):
            band = stored[top : top + step]
            if band.flags.c_contiguous:
                self._fill(band.data.cast("B"))
            else:
                room = bytearray(band.size)
                self._fill(memoryview(room))
                band[...] = _shaped(room, band.shape)
        return out

    def _fill(self, room: memoryview) -> None:
        done = 0
        while done < len(room):
            count = self._out.readinto(room[done:])  # type: ignore[attr-defined]
            if not count:
                raise EOFError
            done += count

    def _too_late(self, late: threading.Event) -> None:
        late.set()
        with contextlib.suppress(OSError):
            self._process.kill()

    def _explained(self, name: str, late: bool) -> PhotoError:
        if late:
            return PhotoError(f"{name} takes more than {SECONDS:.0f} s to decode", OTHERWISE)
        return PhotoError(f"{name} is damaged in a way that stops its decoder", OTHERWISE)

    def close(self) -> None:
        """End the process, whatever it is doing."""
        if self._owner != os.getpid():
            return
        end(self._process)


def _shaped(room: bytearray, shape: tuple[int, ...]) -> Pixels:
    import numpy as np

    return np.frombuffer(room, np.uint8).reshape(shape)


_idle: LifoQueue[Guard] = LifoQueue()


def prepare() -> None:
    """Start a process ahead, so that it is there when the first photo comes."""
    if _idle.empty():
        _idle.put(Guard())


@contextlib.contextmanager
def lent() -> Any:
    """A process that nobody else uses meanwhile; as many as threads ask at once."""
    guard = _taken_up()
    try:
        yield guard
    finally:
        if guard.usable:
            _idle.put(guard)
        else:
            guard.close()


def _taken_up() -> Guard:
    while True:
        try:
            guard = _idle.get_nowait()
        except Empty:
            return Guard()
        if guard.usable:
            return guard
        guard.close()


@atexit.register
def _close_all() -> None:
    with contextlib.suppress(Empty):
        while True:
            _idle.get_nowait().close()
