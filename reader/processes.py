"""Processes that work for this one; each is ended hard when it hangs or is no longer wanted.

`Child` answers one question after the other in a Python of its own, and costs its own question
only if it dies. `decoder` starts what opens pictures and clips: plain pipes, no pickles, as nobody
vouches for their bytes. All of them end when this process ends in any way, a kill included.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

Progress = Callable[[str, float], None]  # name of a step, share done 0..1
Answer = Callable[[Any, Progress], Any]

GLANCE = 0.2  # seconds between two looks at whether the answer is still wanted
FAREWELL = 5.0  # seconds that a killed process may take to go
# One thread a process: a process for each core is faster than threads that share them.
ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OMP_THREAD_LIMIT": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "TYREMARK_THREADS": "1",
}
_STARTING = threading.Lock()  # the environment belongs to all threads


class Died(Exception):
    """The process ended without an answer."""


class TooLate(Exception):
    """The answer took too long; the process was ended."""


class Stopped(Exception):
    """Nobody wants the answer any more; the process was ended."""


class Child:
    """One process and the pipe to it. Not for two threads at once."""

    def __init__(
        self,
        begin: Callable[..., Answer],
        *given: Any,
        env: Mapping[str, str] | None = None,
        nice: int = 0,
    ) -> None:
        """Start it.

        Args:
            begin: called over there with `given`; what it returns answers each question.
            env: further environment; Ctrl-C reaches this process only.
            nice: by how much it steps back behind others.
        """
        context = get_context("spawn")
        self._pipe, theirs = context.Pipe()
        watched, self._alive = context.Pipe(duplex=False)  # only we hold the writing end
        self._process = context.Process(
            target=_serve, args=(theirs, watched, begin, given, nice), daemon=True
        )
        with _STARTING, _quiet(env or {}):
            self._process.start()
        theirs.close()
        watched.close()

    @property
    def alive(self) -> bool:
        """Whether it can take another question."""
        return self._process.is_alive()

    def ask(
        self,
        question: Any,
        seconds: float = float("inf"),
        progress: Progress | None = None,
        stop: threading.Event | None = None,
    ) -> Any:
        """Its answer; what it raises over there is raised here.

        Args:
            question: anything that pickles.
            seconds: after which it is ended.
            progress: hears what the answering function tells.
            stop: set when nobody wants the answer any more.

        Raises:
            Died, TooLate, Stopped: there is no answer, and the process is gone.
        """
        end = time.monotonic() + seconds
        try:
            self._pipe.send(question)
            while not (stop and stop.is_set()) and time.monotonic() < end:
                if not self._pipe.poll(GLANCE):
                    continue
                kind, *told = self._pipe.recv()
                if kind == "answer":
                    return told[0]
                if kind == "raised":
                    raise _Raised(told[0])
                if progress:
                    progress(*told)
        except (EOFError, OSError) as error:
            self.kill()
            raise Died from error
        except _Raised as raised:
            raise raised.error from None
        self.kill()
        raise Stopped if stop and stop.is_set() else TooLate

    def kill(self) -> None:
        """End it, whatever it is doing."""
        self._process.kill()
        self._process.join(timeout=FAREWELL)
        self._pipe.close()
        self._alive.close()


class _Raised(Exception):
    def __init__(self, error: BaseException) -> None:
        self.error = error


@contextlib.contextmanager
def _quiet(env: Mapping[str, str]) -> Iterator[None]:
    """Processes started inside hear no Ctrl-C and see a further environment."""
    old = {name: os.environ.get(name) for name in env}
    has_masks = hasattr(signal, "pthread_sigmask")  # Windows has none
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if has_masks else set()
    os.environ.update(env)
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


def _serve(
    pipe: Connection,
    alive: Connection,
    begin: Callable[..., Answer],
    given: tuple[Any, ...],
    nice: int,
) -> None:
    """The process: answer until the pipe closes; go at once when the owner is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError, AttributeError):  # Windows has no nice
        os.nice(nice)
    threading.Thread(target=_watch, args=(alive,), daemon=True).start()
    answer = begin(*given)
    while True:
        try:
            question = pipe.recv()
        except EOFError:
            return
        try:
            told = answer(question, lambda step, share: pipe.send(("on", step, share)))
        except Exception as error:
            pipe.send(("raised", error))
        else:
            pipe.send(("answer", told))


def _watch(alive: Connection) -> None:
    with contextlib.suppress(EOFError, OSError):
        alive.recv_bytes()
    os._exit(1)


_DECODE = """
import sys
from importlib import import_module
sys.path[:] = sys.argv[2:]
import_module(sys.argv[1]).serve()
"""
_LITTLE_ROOM = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "2"}


def decoder(module: str) -> subprocess.Popen[bytes]:
    """Start the `serve` function of a module, which reads from stdin and writes to stdout.

    Raises:
        OSError: no process can be started.
    """
    here = str(Path(__file__).parents[1])
    paths = [path for path in sys.path if path and path != here] + [here]
    return subprocess.Popen(
        [sys.executable, "-P", "-c", _DECODE, module, *paths],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,  # decoders print warnings there
        env={**os.environ, **_LITTLE_ROOM},
        start_new_session=True,  # Ctrl-C is for the owner, whose end closes its input
    )


def end(process: subprocess.Popen[bytes]) -> None:
    """End a decoder, whatever it is doing."""
    with contextlib.suppress(OSError):
        process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        with contextlib.suppress(OSError):
            if pipe is not None:
                pipe.close()
