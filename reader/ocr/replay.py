"""Engine output of whole photographs, recorded and played back: later stages tested in seconds.

A recording is one compressed file a photo. It holds the lines that the finder told, the boxes of
the general text detector, and what each engine read in each strip; no pixels. Letter
probabilities are kept coarsely: the freest letter of a frame to a 64th (natural logarithm), the
others by how much they cost more, in steps that grow; what no grammar would take is left out.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reader.errors import EngineError
from reader.ocr.alphabet import ALPHABET
from reader.records import Floats, Hypothesis, PartKind, Photo, Region, Strip

Codes = NDArray[np.uint8]

TOP_STEPS = 64  # steps a natural-log unit, for the freest letter of a frame
STEPS = np.concatenate([np.arange(0, 4, 0.25), np.arange(4, 8.5, 0.5)]).astype(np.float32)
"""Costs of the other letters that a recording can hold, beside the freest."""

NEVER = np.float32(16.0)  # cost of what was left out
NEAR = 2.0  # pixels that two places of one strip may differ by, as computers round differently
LIKE_HEIGHT = 0.02  # share of the height


@dataclass(frozen=True)
class Kept:
    """One strip and what one engine read there; `frames` is a range of the recording's table."""

    engine: str
    variant: str
    place: tuple[float, ...]  # x, y of the first point and the last, and the height
    text: str
    score: float
    frames: tuple[int, int] | None


@dataclass(frozen=True, eq=False)
class Recording:
    """What every engine makes of one photo."""

    photo: Photo  # without pixels: its shape counts
    looks: tuple[tuple[tuple[Region, bool], ...], ...]  # lines, and whether the direction is open
    prints: tuple[tuple[Floats, float], ...]  # 4 x 2 corners and score
    kept: tuple[Kept, ...]
    tops: Codes
    costs: Codes
    missed: list[str] = field(default_factory=list)  # strips that were asked for and not recorded

    def engine(self, name: str) -> Replay:
        """The recorded engine of that name."""
        return Replay(self, name)


@dataclass(frozen=True)
class Replay:
    """One engine of a recording: gives back what it once read in the same strips."""

    recording: Recording
    name: str
    late = False
    finds = False

    def read(self, strips: Sequence[Strip]) -> list[Hypothesis]:
        """One hypothesis per strip, in the same order.

        Raises:
            EngineError: a strip was not recorded.
        """
        return [self._one(strip) for strip in strips]

    def describe(self) -> str:
        """Which recording is played."""
        return f"replay of {self.recording.photo.name}"

    def fingerprint(self) -> str:
        """Which recording is played."""
        return self.describe()

    def _one(self, strip: Strip) -> Hypothesis:
        wanted = np.array(place(strip.region))
        for kept in self.recording.kept:
            if (kept.engine, kept.variant) != (self.name, strip.variant):
                continue
            apart = np.abs(wanted - kept.place)
            if apart[:4].max() <= NEAR and apart[4] <= LIKE_HEIGHT * wanted[4]:
                return _hypothesis(self.recording, kept, strip)
        what = f"{self.name} {strip.variant} {np.round(wanted).tolist()}"
        self.recording.missed.append(what)
        raise EngineError(
            f"{self.recording.photo.name}: not recorded: {what}", "record the photo again"
        )


def place(region: Region) -> tuple[float, ...]:
    """What a strip is known by: its first point, its last point and its height, in pixels."""
    first, last = region.centreline[0], region.centreline[-1]
    return (*map(float, first), *map(float, last), float(region.height))


def load(path: Path, part: PartKind = "unknown") -> Recording:
    """Open a recording, of a photo of which the user says that it shows `part`.

    Raises:
        EngineError: the file is missing or no recording.
    """
    try:
        with np.load(path) as whole:
            about = json.loads(whole["about"].tobytes())
            points, tops, costs = whole["points"], whole["tops"], whole["costs"]
            photo = _without_pixels(path.stem, part, *about["shape"])
            return Recording(
                photo,
                _looks(photo, about["looks"], points),
                tuple((np.array(c, np.float32), float(s)) for c, s in about["prints"]),
                tuple(_kept(about["strips"])),
                tops,
                costs,
            )
    except (OSError, EOFError, ValueError, KeyError, TypeError, zipfile.BadZipFile) as error:
        raise EngineError(
            f"{path} is no recording ({error})", "write one with reader.train.bench.record"
        ) from error


def stamp_of(path: Path) -> str:
    """By what a photo was recorded; '' if there is no such recording, or an old one."""
    try:
        with np.load(path) as whole:
            return str(json.loads(whole["about"].tobytes()).get("stamp", ""))
    except (OSError, ValueError, KeyError, zipfile.BadZipFile):
        return ""


def save(
    path: Path,
    photo: Photo,
    looks: Sequence[Sequence[tuple[Region, bool]]],
    prints: Sequence[tuple[Floats, float]],
    heard: Sequence[Hypothesis],
    stamp: str = "",
) -> None:
    """Write what the finder, the detector and the engines made of one photo; a strip once.

    `stamp` says by what it was recorded, for whoever records again.
    """
    points, strips, tables = [], {}, []
    told = []
    for look in looks:
        told.append(
            [[r.height, r.score, r.finder, is_open, len(r.centreline)] for r, is_open in look]
        )
        points += [region.centreline for region, _ in look]
    begin = 0
    for one in heard:
        if one.strip is None:
            continue
        where = place(one.strip.region)
        key = (one.engine, one.strip.variant, *np.round(where, 1).tolist())
        if key in strips:
            continue
        count = 0 if one.log_probs is None else len(one.log_probs)
        if one.log_probs is not None:
            tables.append(one.log_probs)
        strips[key] = [
            one.engine,
            one.strip.variant,
            np.round(where, 2).tolist(),
            one.text,
            round(one.score, 4),
            [begin, begin + count] if count else None,
        ]
        begin += count
    about = {
        "stamp": stamp,
        "shape": photo.shape,
        "looks": told,
        "prints": [[np.round(c, 2).tolist(), round(s, 3)] for c, s in prints],
        "strips": list(strips.values()),
    }
    empty = np.zeros((0, 1 + len(ALPHABET)), np.float32)
    tops, costs = coarse(np.concatenate([empty, *tables]))
    line = np.concatenate([np.zeros((0, 2), np.float32), *points]).astype(np.float32)
    text = np.frombuffer(json.dumps(about, ensure_ascii=False).encode(), np.uint8)
    np.savez_compressed(path, about=text, points=line, tops=tops, costs=costs)


def coarse(log_probs: Floats) -> tuple[Codes, Codes]:
    """Letter probabilities as a recording holds them: T tops, and T x C steps of further cost."""
    top = log_probs.max(axis=1, keepdims=True)
    tops = np.clip(np.round(-top[:, 0] * TOP_STEPS), 0, 255).astype(np.uint8)
    middles = (STEPS[1:] + STEPS[:-1]) / 2
    costs = np.searchsorted(middles, top - log_probs).astype(np.uint8)
    costs[top - log_probs > STEPS[-1] + 0.25] = len(STEPS)
    return tops, costs


def fine(tops: Codes, costs: Codes) -> Floats:
    """The opposite of `coarse`: T x C natural logarithms."""
    steps = np.append(STEPS, NEVER)
    return (-(tops[:, None] / np.float32(TOP_STEPS)) - steps[costs]).astype(np.float32)


def _without_pixels(name: str, part: PartKind, high: int, wide: int) -> Photo:
    return Photo(name, np.broadcast_to(np.uint8(0), (high, wide, 3)), part)


def _looks(
    photo: Photo, looks: Sequence[Sequence[Sequence[Any]]], points: Floats
) -> tuple[tuple[tuple[Region, bool], ...], ...]:
    begin, told = 0, []
    for look in looks:
        lines = []
        for height, score, finder, is_open, count in look:
            line = points[begin : begin + count]
            lines.append((Region(photo, line, height, score, finder), bool(is_open)))
            begin += count
        told.append(tuple(lines))
    return tuple(told)


def _kept(strips: Sequence[Sequence[Any]]) -> Iterator[Kept]:
    for engine, variant, where, text, score, frames in strips:
        yield Kept(engine, variant, tuple(where), text, score, tuple(frames) if frames else None)


def _hypothesis(recording: Recording, kept: Kept, strip: Strip) -> Hypothesis:
    table = None
    if kept.frames is not None:
        part = slice(*kept.frames)
        table = fine(recording.tops[part], recording.costs[part])
    alphabet = "" if table is None else ALPHABET
    return Hypothesis(kept.engine, kept.text, kept.score, strip, table, alphabet)
