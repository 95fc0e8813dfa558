"""What the process for live sweeps does with each frame."""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reader.errors import ReaderError
from reader.photo.load import load
from reader.pipeline import Settings
from reader.records import PartKind, Photo
from reader.sweep.records import SweepState
from reader.sweep.sweep import Sweep
from reader.web.live import PHONES, Finish, Look
from reader.web.readers import BROKEN
from reader.web.sweeping import Best, keep_looks
from reader.web.worker import Outcome, outcome_of, write_picture

log = logging.getLogger(__name__)
NOTHING = Outcome(None, error="no frame of the sweep arrived", remedy="sweep once more")


@dataclass
class Held:
    """One phone's sweep."""

    sweep: Sweep
    best: Best
    kind: PartKind
    seen: float  # when the last frame came


class Sweeps:
    """The sweeps under way, by the phones' names for them."""

    def __init__(self, idle: float, now: Callable[[], float]) -> None:
        self._idle, self._now = idle, now
        self._held: OrderedDict[str, Held] = OrderedDict()

    def answer(self, asked: Look | Finish) -> dict[str, Any] | Outcome:
        """What is known after a frame, or at the end; never raises."""
        try:
            return self.look(asked) if isinstance(asked, Look) else self.finish(asked)
        except ReaderError as error:
            if isinstance(asked, Look):
                return {"error": error.message, "remedy": error.remedy}
            return Outcome(None, error=error.message, remedy=error.remedy)
        except Exception:  # a broken frame can raise anything, and other phones go on
            log.exception("a live sweep failed")
            return {"error": BROKEN.error} if isinstance(asked, Look) else BROKEN

    def look(self, asked: Look) -> dict[str, Any]:
        """Add a frame to its sweep."""
        self._forget()
        held = self._held.get(asked.name)
        if held is None:
            sweep = Sweep(Settings(market=asked.market), asked.kind, "photo 1")
            held = self._held[asked.name] = Held(sweep, Best(), asked.kind, 0.0)
        pixels = load(asked.frame, "the frame").pixels
        held.seen = self._now()
        state = held.sweep.add(pixels, held.seen)
        held.best.see(pixels, state)
        return told(state, pixels.shape[1], pixels.shape[0])

    def finish(self, asked: Finish) -> Outcome:
        """End a sweep: its answer, with pictures in the folder."""
        held = self._held.pop(asked.name, None)
        if held is None or held.best.pixels is None:
            return NOTHING
        reading = held.sweep.finish()
        photo = Photo("photo 1", held.best.pixels, held.kind)
        picture = write_picture(photo.pixels, Path(asked.folder), 1)
        keep_looks(reading, Path(asked.folder), 1)
        return outcome_of(reading, [photo], [picture], Path(asked.folder))

    def _forget(self) -> None:
        now = self._now()
        for name, held in list(self._held.items()):
            if now - held.seen > self._idle:
                del self._held[name]
        while len(self._held) >= 2 * PHONES:
            self._held.popitem(last=False)


def told(state: SweepState, wide: int, high: int) -> dict[str, Any]:
    """A state as the phone draws it: outlines as shares of the frame's sides."""
    reading = state.reading
    lines = [
        {
            "outline": [[round(float(x) / wide, 4), round(float(y) / high, 4)] for x, y in outline],
            "text": line.text,
            "size": line.size,
        }
        for line in state.lines
        for outline in [line.outline]
    ]
    judged = {}
    if reading is not None:
        for name, one in (("diameter", reading.diameter), ("width", reading.width)):
            judged[name] = {
                "value": one.value,
                "probability": round(one.probability, 4),
                "verdict": one.verdict.value,
            }
    return {
        "looks": state.looks,
        "used": state.used,
        "done": state.done,
        "lines": lines,
        "hints": [hint.text for hint in state.hints],
        **judged,
    }
