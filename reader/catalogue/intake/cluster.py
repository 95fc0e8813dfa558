"""Reading on a dask.distributed cluster; a lost worker's photos are read by another one."""

from __future__ import annotations

import asyncio
import concurrent.futures
import logging
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from reader.catalogue.intake.jobs import Job, Outcome, PartReader, all_failed
from reader.catalogue.intake.workers import DIED
from reader.errors import ServerError
from reader.ocr.stamp import difference, stamp
from reader.pipeline import Settings
from reader.processes import ONE_THREAD

TALKERS = ("distributed", "tornado", "asyncio")
PATIENCE = 10  # seconds, for the scheduler to answer
LOST = "the connection to the cluster at {} was lost"
LOSSES = (asyncio.CancelledError, concurrent.futures.CancelledError, OSError)
GO_ON = "run the same command again once it is back; what was read is kept"


def on_one_core(read: PartReader, job: Job) -> Outcome:
    """What a worker does: read on one core, as processes of one machine do.

    Sums over several cores round otherwise, and the same photo must read the same everywhere.
    """
    import cv2

    os.environ.update(ONE_THREAD)
    cv2.setNumThreads(1)
    return read(job)


class ClusterCrew:
    """The workers of a cluster. Photos travel with the job, unless the workers see the folders."""

    def __init__(
        self,
        read: PartReader,
        address: str,
        engines: Sequence[str] = Settings().engines,
        shared: Sequence[Path] = (),
    ) -> None:
        """Reach the scheduler.

        Args:
            read: reads one part.
            address: of the scheduler.
            engines: that must be the same everywhere.
            shared: folders that every worker sees under the same paths; photos are read there.

        Raises:
            ServerError: dask is not installed, nobody answers, no workers, another tyremark, or a
                worker that does not see a folder.
        """
        try:
            import distributed
        except ImportError as error:
            remedy = 'install it with: pip install "tyremark[cluster]"'
            raise ServerError("dask is not installed", remedy) from error
        self._dask: Any = distributed
        for name in [*logging.root.manager.loggerDict]:  # each of dask's has a level of its own
            if name.startswith(TALKERS):  # what matters comes as an error, in one line
                logging.getLogger(name).setLevel(logging.CRITICAL)
        self._read, self._address, self._engines = read, address, tuple(engines)
        self._shared = [str(folder.absolute()) for folder in shared]
        try:
            self._client: Any = self._dask.Client(address, timeout=PATIENCE)
        except (OSError, ValueError, TimeoutError) as error:
            remedy = "give the scheduler's address, e.g. tcp://192.168.0.5:8786"
            raise ServerError(f"no cluster answers at {address}", remedy) from error
        self._running: dict[Any, Job] = {}
        try:
            self._check_workers()
        except BaseException:
            self._client.close()
            raise

    def _check_workers(self) -> None:
        if not self._client.nthreads():
            remedy = f"start one on each machine with: dask worker {self._address} --nthreads 1"
            raise ServerError(f"the cluster at {self._address} has no workers", remedy)
        here = stamp(self._engines)
        there = self._client.run(stamp, self._engines, on_error="return")
        for name, found in sorted(there.items()):
            if not isinstance(found, Mapping):  # what it raised
                remedy = f"install tyremark {here['tyremark']} there"
                raise ServerError(f"the worker {name} has another or no tyremark", remedy)
            other = difference(here, found)
            if other:
                remedy = "install the same there, so that all machines read alike"
                raise ServerError(f"the worker {name} has {other}", remedy)

        for folder in self._shared:
            seen = self._client.run(os.path.isdir, folder)
            blind = sorted(name for name, there in seen.items() if there is not True)
            if blind:
                remedy = "mount it there under the same path, or leave out --shared"
                raise ServerError(f"the worker {blind[0]} does not see {folder}", remedy)

    def has_room(self) -> bool:
        """Whether another job should be handed over now; workers may come and go."""
        with self._or_lost():
            threads = sum(self._client.nthreads().values())
        return len(self._running) < 2 * max(threads, 1)

    def busy(self) -> bool:
        """Whether outcomes are still to come."""
        return bool(self._running)

    def submit(self, job: Job) -> None:
        """Hand over a job, with its photos' bytes unless the workers see the files."""
        contents: list[bytes | None] = []
        for photo in () if self._shared else job.photos:
            try:
                contents.append(Path(photo.path).read_bytes())
            except OSError:  # moved away meanwhile, or its disk is gone
                contents.append(None)
        job = replace(job, contents=tuple(contents))
        with self._or_lost():
            future = self._client.submit(on_one_core, self._read, job, pure=False)
        self._running[future] = replace(job, contents=())

    def finished(self) -> list[tuple[Job, Outcome]]:
        """Wait for at least one outcome.

        Raises:
            ServerError: the cluster is gone.
            EngineError: no engine works there.
        """
        while True:
            if self._client.status != "running":
                raise ServerError(LOST.format(self._address), GO_ON)
            with self._or_lost(), suppress(TimeoutError):
                futures = list(self._running)
                first = "FIRST_COMPLETED"
                done = self._dask.wait(futures, timeout=PATIENCE, return_when=first).done
                return [self._outcome(future) for future in done]

    def _outcome(self, future: Any) -> tuple[Job, Outcome]:
        job = self._running.pop(future)
        try:
            return job, future.result()
        except self._dask.KilledWorker:  # several workers died on it, one after the other
            return job, all_failed(job, DIED)

    @contextmanager
    def _or_lost(self) -> Iterator[None]:
        try:
            yield
        except LOSSES as error:
            if isinstance(error, TimeoutError) and self._client.status == "running":
                raise
            raise ServerError(LOST.format(self._address), GO_ON) from error

    def close(self, stop: bool = False) -> None:
        """End; with `stop`, without the outcomes still missing."""
        with suppress(*LOSSES):  # a lost cluster needs no goodbye
            if stop and self._client.status == "running":
                self._client.cancel(list(self._running), force=True)
            self._client.close(timeout=PATIENCE)
