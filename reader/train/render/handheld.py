"""How a hand moves a phone along a marking: path, shake, focus, exposure, shutter.

Every function of time gives one value a frame. Amplitudes are judged from clips taken by hand
(common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from reader.records import Floats


@dataclass(frozen=True, eq=False)
class Path:
    """One value a frame; N frames.

    `along`, `across` where the camera looks, in caps from the size line's middle; `zoom` and `turn`
    (radians) against the first view; `lean` radians added to the tilt; `shake` N x 2 pixels;
    `soft` blur of the lens in pixels; `gain` exposure; `torch` strength of the phone's lamp, 0..1;
    `open` share of a frame's time for which the shutter is open; `readout` share of a frame's time
    between the first row and the last.
    """

    along: Floats
    across: Floats
    zoom: Floats
    turn: Floats
    lean: Floats
    shake: Floats
    soft: Floats
    gain: Floats
    torch: Floats
    open: float
    readout: float


def draw_path(rng: Generator, frames: int, fps: float, length: float, width: float) -> Path:
    """A sweep along a line of `length` caps, by a camera of `width` pixels."""
    t = np.arange(frames) / fps
    whole = frames / fps
    ends = np.array([-1, 1]) * length * float(rng.uniform(0.1, 0.55))
    if rng.random() < 0.4:
        ends = ends[::-1]
    if rng.random() < 0.25:  # held still, more or less
        ends = ends * 0.1
    ease = t / whole + _wave(rng, t, 0.2, 0.6) * 0.08
    along = ends[0] + (ends[1] - ends[0]) * np.clip(ease, 0, 1)
    calm = float(np.exp(rng.uniform(math.log(0.3), math.log(2.0))))
    shake = np.stack([_wave(rng, t, 1, 9) * width * 0.0025 * calm for _ in range(2)], 1)
    return Path(
        along=_floats(along),
        across=_floats(_wave(rng, t, 0.2, 0.8) * 0.8),
        zoom=_floats(np.exp(_wave(rng, t, 0.1, 0.6) * 0.12)),
        turn=_floats(_wave(rng, t, 0.1, 0.6) * 0.12),
        lean=_floats(_wave(rng, t, 0.1, 0.6) * 0.1),
        shake=_floats(shake),
        soft=_floats(_focus(rng, t)),
        gain=_floats(_exposure(rng, t)),
        torch=_floats(_torch(rng, t)),
        open=float(rng.uniform(0.1, 0.7)),
        readout=float(rng.uniform(0.3, 0.9)),
    )


def _floats(values: np.ndarray) -> Floats:
    return np.asarray(values, np.float32)


def _wave(rng: Generator, t: np.ndarray, low: float, high: float) -> np.ndarray:
    """Smooth wandering around 0 with unit deviation, between two frequencies in hertz."""
    out = np.zeros_like(t)
    for _ in range(5):
        hertz = math.exp(rng.uniform(math.log(low), math.log(high)))
        out += np.sin(2 * math.pi * (hertz * t + rng.random())) / (hertz / low) ** 0.7
    return out / max(1.0, float(np.abs(out).max())) * 1.4


def _focus(rng: Generator, t: np.ndarray) -> np.ndarray:
    """Blur in pixels: a little always, and now and then the lens hunts."""
    soft = np.full_like(t, float(rng.uniform(0.3, 0.9)))
    for _ in range(int(rng.poisson(0.5 * t[-1] / 3 + 0.2))):
        at, width = rng.uniform(0, t[-1]), rng.uniform(0.1, 0.45)
        soft += float(rng.uniform(1.5, 6)) * np.exp(-(((t - at) / width) ** 2))
    if rng.random() < 0.5:  # not yet in focus at the start
        soft += float(rng.uniform(1, 5)) * np.exp(-t / float(rng.uniform(0.1, 0.4)))
    return soft


def _exposure(rng: Generator, t: np.ndarray) -> np.ndarray:
    """Gain against what would be right: wrong at first, in steps, and drifting."""
    gain = np.exp(rng.normal(0, 0.25) + _wave(rng, t, 0.2, 0.7) * 0.12)
    for _ in range(int(rng.poisson(0.7))):
        gain = gain * np.where(t > rng.uniform(0, t[-1]), math.exp(rng.normal(0, 0.3)), 1.0)
    return gain


def _torch(rng: Generator, t: np.ndarray) -> np.ndarray:
    """The phone's lamp: off, on, or switched on half-way."""
    kind = rng.random()
    if kind < 0.5:
        return np.zeros_like(t)
    begin = 0.0 if kind < 0.85 else float(rng.uniform(0.2, 0.6)) * t[-1]
    return np.where(t >= begin, float(rng.uniform(0.4, 1.4)), 0.0)
