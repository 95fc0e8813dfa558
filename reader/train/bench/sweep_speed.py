"""What a clip costs, and how soon a live sweep knows: `python -m reader.train.bench.sweep_speed`.

    python -m reader.train.bench.sweep_speed CLIP…

Each clip is read as an uploaded one is, by an open reader; then it is played to a live sweep
forwards and backwards: the sweep gets the newest frame whenever it has finished the one before.
Time is processor time of reader and decoder, halved for two cores, so that a busy machine measures
as a quiet one does; two quiet cores that can't share all of it take a little longer. Memory is the
highest of reader and decoder together.
"""

from __future__ import annotations

import argparse
import resource
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from reader.pipeline import Settings, read
from reader.records import Photo, Pixels, Verdict
from reader.sweep.clip import Clip
from reader.sweep.records import SweepState
from reader.sweep.sweep import Sweep
from reader.train.bench.markdown import markdown

CORES = 2
LONGEST = 12.0  # seconds that a live sweep is watched
SENDING = 0.03  # seconds that a frame takes from phone to server (judgement)
SETTINGS = Settings(engines=("moulded",))
TABLE = Path(__file__).with_suffix(".md")


@dataclass(frozen=True)
class Cost:
    """One clip: seconds of two cores from file to answer, and live; 0 where it never came."""

    name: str
    verdict: str
    looks: int
    upload: float
    belief: float  # live, from the first sharp look to the first belief in a size
    sure: float  # live, from the first frame until it stops by itself
    pace: float  # looks a second, live


def spent() -> float:
    """Processor time of this process and of the decoders that have ended, seconds."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in both)


def upload(path: Path) -> tuple[float, SweepState]:
    """Read a clip as an uploaded one; seconds of two cores, and what is known at its end."""
    began = spent()
    sweep = Sweep(SETTINGS, name=path.name)
    for frame in Clip(path):
        if sweep.add(frame.pixels, frame.seconds).done:
            break
    sweep.finish()
    return (spent() - began) / CORES, sweep.state


def live(path: Path) -> tuple[float, float, float]:
    """Play a clip to a live sweep; when it first believed, when it was sure, looks a second."""
    frames, rate = played(path)
    sweep = Sweep(SETTINGS, name=path.name)
    now, first, belief, looks = 0.0, -1.0, 0.0, 0
    round_trip = [*range(len(frames)), *range(len(frames) - 2, 0, -1)]
    while now < LONGEST:
        began = spent()
        state = sweep.add(frames[round_trip[int(now * rate) % len(round_trip)]], now)
        now += (spent() - began) / CORES + SENDING
        looks += 1
        if first < 0 and state.used:
            first = now
        told = state.reading is not None and state.reading.verdict is not Verdict.NONE
        if told and not belief:
            belief = max(now - first, 0.01)
        if state.done:
            return belief, now, looks / now
    return belief, 0.0, looks / now


def played(path: Path) -> tuple[list[Pixels], float]:
    """All frames of a clip, RGB, at most 1280 pixels wide as the page sends them; its rate."""
    video = cv2.VideoCapture(str(path))
    rate = video.get(cv2.CAP_PROP_FPS) or 20.0
    frames: list[Pixels] = []
    while True:
        good, frame = video.read()
        if not good:
            return frames, rate
        scale = min(1.0, 1280 / max(frame.shape[:2]))
        small = cv2.resize(frame, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        frames.append(np.asarray(cv2.cvtColor(small, cv2.COLOR_BGR2RGB), np.uint8))


def measured(path: Path, seconds: float, state: SweepState) -> Cost:
    """All figures of one clip, after its upload."""
    verdict = str(state.reading.verdict) if state.reading is not None else "none"
    return Cost(path.name, verdict, state.looks, seconds, *live(path))


def report(costs: Sequence[Cost], memory: float, note: str = "") -> str:
    """The table, in Markdown; `note` says which clips these are."""
    told = [cost for cost in costs if cost.belief]
    sure = [cost.sure for cost in costs if cost.sure]
    uploads = sorted(cost.upload for cost in costs)
    head = ["clip", "verdict", "looks", "file to answer, s", "live: first belief, s",
            "live: sure, s", "live: looks a second"]  # fmt: skip
    rows = [
        [cost.name, cost.verdict, str(cost.looks), f"{cost.upload:.1f}",
         f"{cost.belief:.1f}" if cost.belief else "", f"{cost.sure:.1f}" if cost.sure else "",
         f"{cost.pace:.1f}"]
        for cost in costs
    ]  # fmt: skip
    lines = [
        "# What a sweep costs",
        f"Written by `python -m reader.train.bench.sweep_speed`. {note} Processor time of reader "
        "and decoder, halved for two cores. From the file to the answer: "
        f"{statistics.median(uploads):.1f} s in the median, {uploads[-1]:.1f} s at most.",
    ]
    if told:
        lines.append(
            f"Live, from the first sharp look to the first belief: "
            f"{statistics.median(cost.belief for cost in told):.1f} s in the median, "
            f"{max(cost.belief for cost in told):.1f} s at most, on {len(told)} of {len(costs)}."
        )
    if sure:
        lines.append(
            f"Live until it stops by itself: {statistics.median(sure):.1f} s in the median of the "
            f"{len(sure)} that do, within {LONGEST:g} s of going to and fro."
        )
    lines += [f"Memory: {memory:.0f} MB at most.", markdown([head, *rows])]
    return "\n\n".join(lines) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure the clips, and write the table; memory is that of uploads alone."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.sweep_speed")
    parser.add_argument("clips", type=Path, nargs="+")
    parser.add_argument("--note", default="", help="a sentence: which clips these are")
    parser.add_argument("--out", type=Path, default=TABLE)
    args = parser.parse_args(arguments)
    read([Photo("blank", np.full((480, 640, 3), 90, np.uint8))], SETTINGS)  # opens the models
    uploads = [upload(path) for path in args.clips]
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    costs = [measured(path, *upload) for path, upload in zip(args.clips, uploads, strict=True)]
    text = report(costs, sum(one.ru_maxrss for one in both) / 1024, args.note)
    args.out.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
