"""The parts on the bench: what was snapped, how far reading is, what the visitor said since.

Kept in memory, pictures in a private folder; what shall last goes to the catalogue.
"""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from reader.records import PartKind, Reading, Size
from reader.web.readers import Busy, Readers
from reader.web.settings import Limits
from reader.web.worker import Line, Outcome, Picture, Source, Task

State = Literal["waiting", "reading", "done", "failed"]


@dataclass(eq=False)
class Part:
    """One part on the bench. Written by the readers' threads and the pages, read by all."""

    id: str
    folder: Path
    born: float
    kind: PartKind = "unknown"
    state: State = "waiting"
    step: str = "waiting"
    share: float = 0.0
    outcome: Outcome | None = None
    chosen: Size | None = None  # the visitor's word, beside the machine's
    chosen_edge: str = ""  # letters of the rim's edge in that word
    pair: str = ""  # the bench part that it was snapped to go with
    shelved: str | None = None  # its code in the catalogue
    ended: threading.Event = field(default_factory=threading.Event)
    runs: int = 0
    drawn: Path | None = None  # folder of the pictures of the outcome

    @property
    def reading(self) -> Reading | None:
        """The machine's reading, once there is one."""
        return self.outcome.reading if self.outcome else None

    @property
    def edge(self) -> str:
        """Letters of the rim's edge: the visitor's word, else as read; '' if neither tells."""
        findings = self.outcome.findings if self.outcome else None
        return self.chosen_edge or (findings.rim_kind if findings else "")

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """The kept pictures, in the order in which the photos came."""
        return self.outcome.pictures if self.outcome else ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """The markings found, each with its straightened picture."""
        return self.outcome.lines if self.outcome else ()


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
        """Note the end; the bytes that were sent are free again."""
        self._free()
        part, before = self._part, self._part.drawn
        if self._number != part.runs:
            shutil.rmtree(self._folder, ignore_errors=True)
            return
        part.drawn, part.outcome = self._folder, outcome
        if before is not None:
            shutil.rmtree(before, ignore_errors=True)
        part.state = "done" if outcome.reading is not None else "failed"
        part.step, part.share = part.state, 1.0
        part.ended.set()


class Bench:
    """All parts on the bench, the oldest dropped first."""

    def __init__(
        self, readers: Readers, limits: Limits, now: Callable[[], float] = time.time
    ) -> None:
        self._readers, self._limits, self._now = readers, limits, now
        self._parts: OrderedDict[str, Part] = OrderedDict()
        self._lock = threading.Lock()
        self._held = 0
        self._folder = Path(tempfile.mkdtemp(prefix="tyremark-"))  # readable by this user only

    @property
    def waiting(self) -> int:
        """Parts in the queue."""
        return self._readers.waiting

    def add(self, sources: Sequence[Source], kind: PartKind, market: str) -> Part:
        """Begin to read a new part.

        Raises:
            Busy: the queue is full; nothing was kept.
        """
        name = secrets.token_urlsafe(12)
        part = Part(name, self._folder / secrets.token_hex(12), self._now(), kind)
        part.folder.mkdir(mode=0o700)
        try:
            self.read(part, sources, market)
        except Exception:
            shutil.rmtree(part.folder, ignore_errors=True)
            raise
        with self._lock:
            self._parts[name] = part
            self._forget_old()
        return part

    def read(self, part: Part, sources: Sequence[Source], market: str) -> None:
        """Read a part, or read it again with more photos, a box or a turn.

        Raises:
            Busy: the queue is full; the part stays as it was.
        """
        folder = part.folder / secrets.token_hex(6)
        task = Task(tuple(sources), folder, part.kind, market)
        size = sum(len(source.data) for source in sources)
        before = (part.state, part.step, part.share)
        self._hold(size)
        folder.mkdir(mode=0o700)
        part.ended.clear()
        part.state, part.step, part.share = "waiting", "waiting", 0.0
        try:
            self._readers.submit(task, Run(part, folder, lambda: self._hold(-size)))
        except Exception:
            self._hold(-size)
            part.state, part.step, part.share = before
            part.ended.set()
            shutil.rmtree(folder, ignore_errors=True)
            raise

    def _hold(self, size: int) -> None:
        """Count the bytes of photos that wait to be read.

        Raises:
            Busy: all parts together would hold too much memory.
        """
        with self._lock:
            if size > 0 and self._held + size > self._limits.held_bytes:
                raise Busy
            self._held += size

    def again(self, part: Part) -> list[Source]:
        """The kept photos as sources, for another reading."""
        return [
            Source(self.picture(part, picture.full).read_bytes())
            for picture in part.pictures
            if picture.full
        ]

    def picture(self, part: Part, name: str) -> Path:
        """The file of one of the part's own pictures.

        Raises:
            KeyError: the part has no picture of that name.
        """
        known = {picture.full for picture in part.pictures}
        known |= {picture.view for picture in part.pictures}
        known |= {line.picture for line in part.lines}
        if part.drawn is None or not name or name not in known:
            raise KeyError(name)
        return part.drawn / name

    def get(self, name: str) -> Part:
        """The part of that name.

        Raises:
            KeyError: there is none, or it was dropped.
        """
        with self._lock:
            return self._parts[name]

    def known(self, name: str) -> str:
        """The name, if such a part is on the bench, else ''."""
        with self._lock:
            return name if name in self._parts else ""

    def latest(self, count: int = 6) -> list[Part]:
        """The newest parts, newest first."""
        with self._lock:
            return list(self._parts.values())[: -count - 1 : -1]

    def close(self) -> None:
        """Stop reading and take all pictures off the disk."""
        self._readers.close()
        shutil.rmtree(self._folder, ignore_errors=True)

    def _forget_old(self) -> None:
        old = self._now() - self._limits.part_seconds
        while self._parts:
            first = next(iter(self._parts.values()))
            if len(self._parts) <= self._limits.parts and first.born >= old:
                return
            del self._parts[first.id]
            shutil.rmtree(first.folder, ignore_errors=True)
