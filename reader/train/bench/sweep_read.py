"""One worker of the sweep benchmark: draws a clip, codes it, and reads it in four ways."""

from __future__ import annotations

import resource
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from reader.pipeline import Settings, read
from reader.records import Photo, Reading, Verdict
from reader.resolve.resolve import resolve
from reader.sweep.clip import Clip, Frame
from reader.sweep.quality import judge
from reader.sweep.sweep import Sweep
from reader.sweep.tracks import Look, Track
from reader.tables import load_tables
from reader.train.bench.rows import Answer
from reader.train.bench.sets import spelled
from reader.train.bench.sweep_kept import packed
from reader.train.bench.sweep_sets import FPS, Set, SweepCase
from reader.train.render.batch import one_core
from reader.train.render.encode import encode_plainly

WAYS = ("sweep", "best frame", "three stills", "voted plainly")
SETTINGS = Settings(engines=("moulded",))
DESK: list[tuple[dict[str, Set], bool, bool]] = []  # one in each worker


@dataclass(frozen=True)
class SweepRow:
    """One clip of one kind with the answers of all ways."""

    kind: str
    number: int
    seed: int
    part: str
    text: str
    truth: str  # '47-507', '' without a size
    cap: float  # capital height, pixels
    looks: int
    stopped: float  # seconds of the clip after which the sweep was sure, 0 if never
    free: float  # share of the size line that the lamp's reflection leaves in some frame
    answers: dict[str, Answer]


def sit_down(carry: Path, device: str, groups: Sequence[str], keep: bool, ways: bool) -> None:
    """Set a worker process up; `keep` the looks, read in all `ways` or by the sweep alone."""
    one_core()
    DESK[:] = [({name: Set.open(name, carry, device) for name in groups}, keep, ways)]
    read([Photo("blank", np.full((480, 640, 3), 90, np.uint8))], SETTINGS)  # opens the models


def answer(case: SweepCase) -> tuple[SweepRow, bytes]:
    """Draw one clip and read it; the row, and the looks if they are to be kept."""
    sets, keep, ways = DESK[0]
    clip, truth = sets[case.group].film(case)
    with tempfile.TemporaryDirectory() as folder:
        path = encode_plainly(Path(folder), clip.frames, FPS)
        began = _spent()
        sweep, stopped = Sweep(SETTINGS, name=path.name), 0.0
        for frame in Clip(path):
            if sweep.add(frame.pixels, frame.seconds).done:
                stopped = frame.seconds + 1e-3
                break
        reading = sweep.finish()
        answers = {"sweep": Answer.of(reading, _spent() - began)}
        if ways:
            answers |= _others(list(Clip(path)), sweep)
    row = SweepRow(
        case.kind, case.number, case.seed, clip.part, clip.truth, spelled(truth), clip.cap,
        sweep.state.looks, stopped, clip.free, answers,
    )  # fmt: skip
    return row, packed(sweep, case, spelled(truth)) if keep else b""


def _spent() -> float:
    """Processor time of this process and of the decoders that it has ended, seconds."""
    some = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in some)


def _others(frames: Sequence[Frame], sweep: Sweep) -> dict[str, Answer]:
    """The single best frame, the best of each third as three stills, and a plain vote."""
    good = [judge(np.asarray(cv2.cvtColor(f.pixels, cv2.COLOR_RGB2GRAY))).usable for f in frames]
    best = int(np.argmax(good))
    parts = [part for part in np.array_split(np.arange(len(frames)), 3) if len(part)]
    three = [int(max(part, key=lambda k: good[k])) for part in parts]
    return {
        "best frame": _stills([frames[best]]),
        "three stills": _stills([frames[k] for k in three]),
        "voted plainly": plain_vote(sweep.tracks),
    }


def _stills(frames: Sequence[Frame]) -> Answer:
    began = time.process_time()
    photos = [Photo(f"{k}.jpg", frame.pixels) for k, frame in enumerate(frames)]
    reading = read(photos, SETTINGS)
    return Answer.of(reading, time.process_time() - began)


def plain_vote(tracks: Sequence[Track]) -> Answer:
    """What most frames say, each read alone: told if more than half of those that say anything."""
    said: Counter[str] = Counter()
    for reading in _alone(tracks):
        if reading.best is not None and reading.verdict in (Verdict.SURE, Verdict.LIKELY):
            said[str(reading.best.size)] += 1
    if not said:
        return Answer("", str(Verdict.NONE), 0.0, 0.0)
    size, count = said.most_common(1)[0]
    share = count / sum(said.values())
    told = Verdict.LIKELY if share > 0.5 else Verdict.CANT_TELL
    told = Verdict.SURE if share > 0.9 and count >= 3 else told
    return Answer(size, str(told), share, 0.0)


def _alone(tracks: Sequence[Track]) -> list[Reading]:
    """The answer of each frame by itself."""
    from reader.markings import SCORED, automaton, find_all

    frames: dict[int, list[Look]] = {}
    for track in tracks:
        for look in track.looks if track.straight else track.turned:
            frames.setdefault(look.frame, []).append(look)
    out = []
    for looks in frames.values():
        markings = []
        for look in looks:
            seen = look.hypothesis
            if seen.log_probs is None or sum(c.isdigit() for c in seen.text) < 2:
                continue
            scored = automaton.score(seen.log_probs, seen.alphabet)
            markings += [replace(m, hypothesis=seen) for m in scored]
            markings += [m for m in find_all(seen) if m.notation not in SCORED]
        out.append(resolve(markings, "unknown", load_tables()))
    return out
