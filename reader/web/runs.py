"""One reading of one part on the bench: what is heard of it, and its end written down."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from reader.web import kept
from reader.web.parts import Part
from reader.web.readers import CLOSED
from reader.web.worker import Outcome


class Run:
    """Hears of one reading of one part; a run overtaken by a newer one is ignored."""

    def __init__(self, part: Part, folder: Path, free: Callable[[], None]) -> None:
        part.runs += 1
        self._part, self._number, self._folder, self._free = part, part.runs, folder, free

    def on_progress(self, step: str, share: float) -> None:
        """Note how far it is."""
        if self._number == self._part.runs:
            self._part.state = "reading"
            self._part.step, self._part.share = step, max(0.0, min(1.0, share))

    def on_end(self, outcome: Outcome) -> None:
        """Note the end, on disk first; the photos as they were sent are no longer needed."""
        self._free()
        part, before = self._part, self._part.drawn
        if self._number != part.runs or not part.folder.exists():
            shutil.rmtree(self._folder, ignore_errors=True)
            return
        if outcome is CLOSED:  # the next start reads it
            shutil.rmtree(self._folder, ignore_errors=True)
            part.outcome, part.tries = outcome, 0
            part.write()
            self.settle(part)
            return
        kept.write_outcome(self._folder, outcome)
        part.drawn, part.outcome, part.sources, part.tries = self._folder, outcome, (), 0
        part.write()
        shutil.rmtree(part.folder / "sent", ignore_errors=True)
        if before is not None:
            shutil.rmtree(before, ignore_errors=True)
        self.settle(part)

    @staticmethod
    def settle(part: Part) -> None:
        """Tell everybody who waits that the part has its outcome."""
        part.state = "done" if part.reading is not None else "failed"
        part.step, part.share = part.state, 1.0
        part.ended.set()
