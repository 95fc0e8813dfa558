"""One worker of the benchmark: takes a case's photographs and puts them to every engine."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from reader.pipeline import read
from reader.records import Marking, PartKind, Photo
from reader.resolve.resolve import resolve
from reader.tables import load_tables
from reader.train.bench.baselines import LOCATED, PEERS, located, markings, strips_of
from reader.train.bench.rows import OURS, Answer, Row
from reader.train.bench.sets import Case, show, spelled
from reader.train.render.batch import one_core, tidy
from reader.train.render.samples import Studio


@dataclass
class Desk:
    """What a worker process keeps between cases."""

    studio: Studio
    tell_part: bool = False  # whether the engines are told that it is a tyre or a rim
    turn: AbstractContextManager[Any] = field(default_factory=nullcontext)  # on the graphics card


DESKS: list[Desk] = []  # one in each worker, by `sit_down`


def sit_down(carry: Path, device: str, tell_part: bool, turn: Any) -> None:
    """Set a worker process up; `turn` is a semaphore that bounds how many render at once."""
    one_core()
    DESKS[:] = [Desk(Studio.open(carry, device), tell_part, turn)]
    read([Photo("blank", np.full((480, 640, 3), 90, np.uint8))])  # opens models: not to be timed


def answer(case: Case, peers: bool) -> Row:
    """Read one case with this tool and, if asked, with the general engines."""
    desk = DESKS[0]
    with desk.turn:
        shown = show(case, desk.studio)
        tidy(desk.studio.device)
    part: PartKind = "unknown"
    if desk.tell_part and shown.part in ("tyre", "rim"):
        part = "rim" if shown.part == "rim" else "tyre"
    photos = [
        Photo(f"{case.kind} {case.number}.{k}", pixels, part)
        for k, pixels in enumerate(shown.pictures, 1)
    ]
    began = time.perf_counter()
    reading = read(photos)
    answers = {OURS: Answer.of(reading, time.perf_counter() - began)}
    if peers:
        answers |= _peers(photos, part)
    return Row(
        case.kind, case.number, case.seed, len(photos), shown.part, shown.text,
        spelled(shown.truth), shown.clarity, shown.cap, shown.font, answers,
    )  # fmt: skip


def _peers(photos: Sequence[Photo], part: PartKind) -> dict[str, Answer]:
    out = {}
    for peer in PEERS:
        out[peer] = _ask(partial(_all, photos, peer), part)
    began = time.perf_counter()
    strips = [strip for photo in photos for strip in strips_of(photo)]
    finding = time.perf_counter() - began
    for peer in LOCATED:
        out[peer] = _ask(partial(located, strips, peer), part, finding)
    return out


def _all(photos: Sequence[Photo], peer: str) -> tuple[Marking, ...]:
    return tuple(found for photo in photos for found in markings(photo, peer))


def _ask(seen: Callable[[], tuple[Marking, ...]], part: PartKind, already: float = 0.0) -> Answer:
    """The answer of the same resolver to what a general engine reads."""
    began = time.perf_counter()
    reading = resolve(seen(), part, load_tables())
    return Answer.of(reading, already + time.perf_counter() - began)
