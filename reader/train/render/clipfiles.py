"""The small clips of the tests, `python -m reader.train.render.clipfiles`: a sample panned over.

One clip for each codec and container that phones and browsers write, one with uneven times, one
with a rotation flag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np

from reader.photo.load import load
from reader.records import Pixels
from reader.train.render.encode import encode

OUT = Path("fixtures/clips")
SAMPLE = Path("samples/moulded-111.jpg")
FRAMES, FPS = 24, 12.0
SIZE = (864, 640)  # width, height of a frame


@dataclass(frozen=True)
class File:
    """One clip file to write."""

    name: str
    codec: str
    turned: int = 0
    uneven: bool = False
    options: dict[str, str] = field(default_factory=dict)


FILES = (
    File("h264.mp4", "libx264"),
    File("hevc.mp4", "libx265", options={"x265-params": "log-level=none"}),
    File("vp9.webm", "libvpx-vp9", options={"deadline": "realtime", "cpu-used": "8"}),
    File("uneven.mov", "libx264", uneven=True),
    File("turned.mp4", "libx264", turned=90),
)


def pan(pixels: Pixels, size: tuple[int, int], count: int) -> Iterator[Pixels]:
    """Windows of `size` (width, height) going from left to right over a picture, swaying."""
    high, wide = pixels.shape[:2]
    for number in range(count):
        share = number / max(1, count - 1)
        x = (wide - size[0]) * share
        y = (high - size[1]) * (0.5 + 0.08 * np.sin(number))
        lean = 0.008 * np.sin(0.7 * number)
        matrix = np.array([[1, lean, -x], [-lean, 1, -y]], np.float32)
        yield np.asarray(cv2.warpAffine(pixels, matrix, size), np.uint8)


def write(out: Path = OUT, files: Sequence[File] = FILES) -> None:
    """Write all clips."""
    out.mkdir(parents=True, exist_ok=True)
    picture = load(SAMPLE, SAMPLE.name).pixels
    scale = 0.75
    small = np.asarray(
        cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8
    )
    for file in files:
        frames = [np.ascontiguousarray(one) for one in pan(small, SIZE, FRAMES)]
        if file.turned:  # stored lying, to be turned by the player
            frames = [np.ascontiguousarray(np.rot90(one, file.turned // 90)) for one in frames]
        times = None
        if file.uneven:
            steps = [1 / FPS * (0.5, 1.8, 0.7, 1.0)[k % 4] for k in range(FRAMES)]
            times = np.r_[0.0, np.cumsum(steps)[:-1]].tolist()
        encode(
            out / file.name, frames, FPS, file.codec, 500_000, dict(file.options), times,
            file.turned,
        )  # fmt: skip


if __name__ == "__main__":
    write()
