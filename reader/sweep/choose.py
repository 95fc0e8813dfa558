"""Which frames of a clip are looked at: of each stretch of time the sharpest that is new.

Sharpness and exposure are judged on each frame (`quality`). How the picture moves comes from
optical flow between small copies: a stretch ends early where much has moved, and goes on while
nothing does.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import cv2
import numpy as np

from reader.records import Pixels
from reader.sweep.quality import judge

SMALL = 160  # pixels of the longer side of the copies whose flow is measured
SHORTEST = 0.05  # seconds of a stretch
LONGEST = 0.6
MUCH = 0.12  # of the picture's side: moved so far, a new stretch begins
STILL = 0.004  # of the side: moved less, the next look waits
WAITS = 3.0  # times the usual stretch, at most, where nothing moves or changes
CHANGED = 4.0  # mean grey levels: the light is another

Chosen = tuple[float, Any]


class Chooser:
    """Takes frames in order (BGR), gives the chosen ones, each as soon as its stretch is over."""

    def __init__(self, seconds: float, looks: int) -> None:
        """`seconds` how long the clip is (0 if not known), `looks` how many frames are wanted."""
        stretch = seconds / max(looks, 1) if seconds > 0 else 0.1
        self._stretch = min(max(stretch, SHORTEST), LONGEST)
        self._began = -1.0
        self._held: tuple[float, float, Any] | None = None  # usable, seconds, frame
        self._before: Pixels | None = None
        self._chosen: Pixels | None = None  # small copy of the last one given out
        self._small: Pixels | None = None  # small copy of the one held
        self._moved = 0.0

    def offer(self, seconds: float, frame: Any) -> Iterator[Chosen]:
        """One more frame; gives the choice of the stretch before when this one begins another."""
        grey = np.asarray(cv2.cvtColor(frame, cv2.COLOR_BGR2GRAY), np.uint8)
        scale = SMALL / max(grey.shape)
        small = np.asarray(
            cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8
        )
        step = _flow(self._before, small)
        self._before = small
        self._moved += step
        if self._held is not None and self._is_over(seconds):
            yield self._give()
        usable = judge(grey).usable * (1 - min(0.5, 4 * step))
        if self._held is None:
            self._began = seconds
        if self._held is None or usable > self._held[0]:
            self._held, self._small = (usable, seconds, frame), small

    def rest(self) -> Iterator[Chosen]:
        """The choice of the last stretch."""
        if self._held is not None:
            yield self._give()

    def _is_over(self, seconds: float) -> bool:
        spent = seconds - self._began
        if self._moved > MUCH:
            return spent >= self._stretch / 2
        if spent < self._stretch:
            return False
        return self._is_new() or spent >= WAITS * self._stretch

    def _is_new(self) -> bool:
        """Whether the frame held shows another picture than the one given out last."""
        if self._chosen is None or self._small is None or self._moved > STILL:
            return True
        apart = cv2.absdiff(self._chosen, self._small)
        return float(apart.mean()) > CHANGED

    def _give(self) -> Chosen:
        assert self._held is not None
        _, seconds, frame = self._held
        self._held, self._chosen, self._moved = None, self._small, 0.0
        return seconds, frame


def _flow(before: Pixels | None, after: Pixels) -> float:
    """Median movement between two small copies, as a share of the longer side."""
    if before is None or before.shape != after.shape:
        return 0.0
    follow: Any = cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_ULTRAFAST)
    flow = follow.calc(before, after, None)
    return float(np.median(np.hypot(flow[..., 0], flow[..., 1]))) / max(after.shape)
