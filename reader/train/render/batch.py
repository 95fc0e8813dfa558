"""Photographs by the hundred: rendered and read by a pool of processes.

Each worker renders on the processor or the graphics card (a few at a time there) and reads on one
core. Workers are spawned, so call it under a main guard. Results come as they are done; a
photograph that breaks a worker's rendering or reading is told, not raised.
"""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from reader.records import PartKind, Photo, Pixels, Reading, Size

if TYPE_CHECKING:
    from reader.train.render.samples import Studio

AHEAD = 2  # jobs waiting per worker
RENDERING = 8  # workers at a time on a graphics card: a whole wheel takes 4 GB there


@dataclass(frozen=True)
class Job:
    """One part to photograph and read.

    `seeds` has one seed a photo; several photos of one part share `line_seed`. `quality` is that
    of the JPEG in between, 0 for none. `text` is the size line, a random one if empty.
    """

    recipe: str  # key of recipes.RECIPES
    seeds: tuple[int, ...]
    told: bool = True  # whether the reader is told what part it is
    line_seed: int | None = None
    quality: int = 0
    text: str = ""

    @property
    def name(self) -> str:
        """Unique within a run."""
        return f"{self.recipe}-{'+'.join(map(str, self.seeds))}-{'told' if self.told else 'open'}"


@dataclass(frozen=True)
class Facts:
    """What is known of one photograph: see photos.Shot."""

    truth: str
    part: str
    cap: float
    clarity: float


@dataclass(frozen=True)
class Record:
    """What is kept of a reading by default: sizes with their probabilities, best first."""

    verdict: str
    part: PartKind
    sizes: tuple[tuple[Size, PartKind, float], ...]
    seconds: float


@dataclass(frozen=True)
class Done:
    """A part that was read; `record` is the digest of the reading, None if `error` says why."""

    job: Job
    facts: tuple[Facts, ...]
    record: Any
    error: str = ""


@dataclass(frozen=True)
class Stock:
    """What photographs are made from: held-out fonts and backgrounds, a bank of textures.

    `bank_seed` None stands for photos.HELD_OUT_BANK. `half` 0 or 1 stands for every other design
    of letters and background, None for all.
    """

    carry: Path = Path("carry")
    bank_seed: int | None = None
    per_kind: int = 2
    half: int | None = None


Digest = Callable[[Job, Reading], Any]


def record(job: Job, reading: Reading) -> Record:
    """The default digest."""
    sizes = tuple((c.size, c.part, c.probability) for c in reading.candidates)
    return Record(str(reading.verdict), reading.part, sizes, reading.seconds)


def read_shots(
    jobs: Iterable[Job],
    workers: int,
    device: str = "cpu",
    stock: Stock | None = None,
    digest: Digest = record,
) -> Iterator[Done]:
    """Render and read all jobs, in the order in which they get done.

    Args:
        jobs: what to photograph.
        workers: processes that read, one core each.
        device: where torch renders.
        stock: what photographs are made from.
        digest: turns a reading into what is kept of it; a function of a module, so that workers
            find it, and its result must be picklable.
    """
    waiting: set[Future[Done]] = set()
    with crew(workers, device, _begin) as pool:
        for job in jobs:
            if len(waiting) >= AHEAD * workers:
                done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                yield from (one.result() for one in done)
            waiting.add(pool.submit(_render_and_read, job, stock or Stock(), device, digest))
        while waiting:
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            yield from (one.result() for one in done)


def photograph(
    job: Job, stock: Stock, device: str = "cpu"
) -> tuple[tuple[Pixels, ...], tuple[Facts, ...]]:
    """Render the photos of one part; RGB pixels and what is known of each."""
    from reader.train.render.kinds import RECIPES

    studio, recipe = _studio(stock, device), RECIPES[job.recipe]
    shots = [studio.shoot(recipe, seed, job.text, job.line_seed) for seed in job.seeds]
    facts = tuple(Facts(s.truth, s.part, float(s.cap), float(s.clarity)) for s in shots)
    return tuple(shot.pixels for shot in shots), facts


@lru_cache(maxsize=2)
def _studio(stock: Stock, device: str) -> Studio:
    from reader.train.render.photos import HELD_OUT_BANK
    from reader.train.render.samples import Studio

    seed = HELD_OUT_BANK if stock.bank_seed is None else stock.bank_seed
    return Studio.open(stock.carry, device, seed, stock.per_kind, stock.half)


def crew(
    workers: int, device: str, begin: Callable[..., None], *arguments: Any
) -> ProcessPoolExecutor:
    """Spawned workers with one core each: a fork would copy the card's state and hang.

    Args:
        workers: how many.
        device: where they render.
        begin: sets each up, called with `arguments` and a semaphore that bounds how many render
            at once; a function of a module. It should call `one_core`.
        arguments: picklable.
    """
    for name in ("TYREMARK_THREADS", "OMP_NUM_THREADS", "OMP_THREAD_LIMIT"):
        os.environ[name] = "1"
    context = get_context("spawn")
    turn = context.BoundedSemaphore(workers if device == "cpu" else RENDERING)
    return ProcessPoolExecutor(workers, context, begin, (*arguments, turn))


TURNS: list[AbstractContextManager[Any]] = []  # one in each worker, by `_begin`


def _begin(turn: AbstractContextManager[Any]) -> None:
    """Set a worker up; `turn` bounds how many render at once."""
    one_core()
    TURNS[:] = [turn]


def one_core() -> None:
    """Keep the libraries of this process to one core."""
    import cv2
    import torch

    torch.set_num_threads(1)
    cv2.setNumThreads(1)


def _render_and_read(job: Job, stock: Stock, device: str, digest: Digest) -> Done:
    facts: tuple[Facts, ...] = ()
    try:
        with TURNS[0]:
            pictures, facts = photograph(job, stock, device)
            tidy(device)
        return Done(job, facts, digest(job, _read(job, pictures, facts)))
    except Exception:  # one bad photograph must not end a run of hours
        return Done(job, facts, None, traceback.format_exc(limit=3))


def tidy(device: str) -> None:
    """Give back the card's memory: processes share it, and a whole wheel needs gigabytes."""
    if device != "cpu":
        import torch

        torch.cuda.empty_cache()


def _read(job: Job, pictures: Sequence[Pixels], facts: tuple[Facts, ...]) -> Reading:
    from reader.pipeline import read

    photos = [
        Photo(f"{job.recipe}-{seed}.jpg", _jpeg(pixels, job.quality), _told(job, facts))
        for seed, pixels in zip(job.seeds, pictures, strict=True)
    ]
    return read(photos)


def _told(job: Job, facts: tuple[Facts, ...]) -> PartKind:
    part = facts[0].part if job.told else ""
    return "tyre" if part == "tyre" else "rim" if part == "rim" else "unknown"


def _jpeg(pixels: Pixels, quality: int) -> Pixels:
    """The picture as it comes back from a file."""
    if not quality:
        return pixels
    import cv2

    _, data = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    again = cv2.imdecode(data, cv2.IMREAD_COLOR)
    assert again is not None
    return np.ascontiguousarray(again[..., ::-1])
