"""The bench: all parts that were snapped lately, their readings begun, ended and taken up again.

Known in memory and written down in a private folder as they change, so that a server that is
killed reads on after its next start. What shall last longer goes to the catalogue.
"""

from __future__ import annotations

import secrets
import shutil
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from reader.records import PartKind
from reader.web import kept
from reader.web.parts import Part, written
from reader.web.readers import Busy, Readers
from reader.web.runs import Run
from reader.web.settings import Limits
from reader.web.worker import Outcome, Source, Task

GIVEN_UP = Outcome(
    None,
    error="this photo stopped the server each time it was read",
    remedy="take it again, or send it as an ordinary JPEG picture",
)


class Bench:
    """All parts on the bench, the oldest dropped first."""

    def __init__(
        self,
        readers: Readers,
        limits: Limits,
        folder: Path,
        now: Callable[[], float] = time.time,
    ) -> None:
        """Take up what an earlier server left in the folder: read on, forget what is too old."""
        self._readers, self._limits, self._now = readers, limits, now
        self._parts: OrderedDict[str, Part] = OrderedDict()
        self._lock = threading.Lock()
        self._held = 0
        self._folder = folder
        self._take_up()

    def _take_up(self) -> None:
        found = [(written(folder), folder) for folder in self._folder.iterdir()]
        for part, folder in found:
            if part is None:
                shutil.rmtree(folder, ignore_errors=True)
        known = sorted((part for part, _ in found if part), key=lambda part: part.born)
        self._parts.update((part.id, part) for part in known)
        self._forget_old()
        for part in self._parts.values():
            self._read_on(part)

    def _read_on(self, part: Part) -> None:
        """Read what was accepted and never ended; what was read only needs its outcome."""
        if part.outcome is not None and not part.sources:
            Run.settle(part)
            return
        sources = part.sources or tuple(Source(one) for one in kept.fulls(part.drawn))
        part.tries += 1
        if not sources or part.tries > self._limits.tries:
            part.outcome, part.sources = GIVEN_UP, ()
            Run.settle(part)
            return
        self._begin(part, sources, accepted=True)

    @property
    def waiting(self) -> int:
        """Parts in the queue."""
        return self._readers.waiting

    def ahead(self, part: Part) -> int:
        """Parts that are read before this one."""
        with self._lock:
            others = [one for one in self._parts.values() if one.state in ("waiting", "reading")]
        return sum(one.queued < part.queued for one in others)

    def add(
        self,
        photos: Sequence[bytes | Path],
        kind: PartKind,
        market: str,
        pair: str = "",
        owner: str = "",
        sent: str = "",
    ) -> Part:
        """Begin to read a new part. When this returns, its photos are safe on disk.

        Args:
            photos: each as bytes, or as a file that is moved to the part.
            kind: what the visitor says it is.
            market: whose habits count.
            pair: the bench part that it shall go with.
            owner: the session that brings it.
            sent: the phone's name for the upload; the part of the same name is given again.

        Raises:
            Busy: the queue is full; nothing was kept, and files were not moved.
        """
        known = self.sent(sent)
        if known is not None:
            return known
        self.check_room()
        part = self.blank(kind, market, pair, owner, sent)
        try:
            self.read(part, self.bring(part, photos))
        except Exception:
            shutil.rmtree(part.folder, ignore_errors=True)
            raise
        with self._lock:
            self._parts[part.id] = part
            self._forget_old()
        return part

    def blank(self, kind: PartKind, market: str, pair: str, owner: str, sent: str) -> Part:
        """A part whose answer comes from elsewhere; not on the bench until `adopt`."""
        name = secrets.token_urlsafe(12)
        part = Part(name, self._folder / secrets.token_hex(12), self._now(), kind, market)
        part.pair, part.owner, part.sent = pair, owner, sent
        part.folder.mkdir(mode=0o700)
        return part

    def folder_for(self, part: Part) -> Path:
        """A new folder for the pictures of a reading of the part."""
        folder = part.folder / secrets.token_hex(6)
        folder.mkdir(mode=0o700)
        return folder

    def adopt(self, part: Part, folder: Path, outcome: Outcome) -> None:
        """Put a part on the bench that was read elsewhere, with the pictures in `folder`."""
        Run(part, folder, lambda: None).on_end(outcome)
        with self._lock:
            self._parts[part.id] = part
            self._forget_old()

    def check_room(self) -> None:
        """Make sure that a newcomer may stand in the queue.

        Raises:
            Busy: as many parts as allowed are waiting already.
        """
        if self._readers.full:
            raise Busy

    def bring(self, part: Part, photos: Iterable[bytes | Path]) -> list[Source]:
        """Put photos into the part's folder, written through to the disk."""
        folder = part.folder / "sent"
        folder.mkdir(mode=0o700, exist_ok=True)
        return [Source(kept.settled(photo, folder / secrets.token_hex(6))) for photo in photos]

    def read(self, part: Part, sources: Sequence[Source], sent: str = "") -> None:
        """Read a part, or read it again with more photos (upload `sent`), a box or a turn.

        Raises:
            Busy: the queue is full; the part stays as it was.
        """
        before, part.sent = part.sent, sent or part.sent
        try:
            self._begin(part, tuple(sources))
        except Busy:
            part.sent = before
            raise

    def _begin(self, part: Part, sources: tuple[Source, ...], accepted: bool = False) -> None:
        folder = part.folder / secrets.token_hex(6)
        task = Task(sources, folder, part.kind, part.market)
        size = sum(source.path.stat().st_size for source in sources)
        before = (part.state, part.step, part.share, part.sources)
        self._hold(size, accepted)
        folder.mkdir(mode=0o700)
        part.ended.clear()
        part.queued, part.running = time.monotonic(), folder
        part.state, part.step, part.share, part.sources = "waiting", "waiting", 0.0, sources
        try:
            part.write()
            run = Run(part, folder, lambda: self._hold(-size))
            self._readers.submit(task, run, accepted)
        except Exception:
            self._hold(-size)
            part.state, part.step, part.share, part.sources = before
            part.ended.set()
            shutil.rmtree(folder, ignore_errors=True)
            if part.drawn is not None:
                part.write()
            raise

    def _hold(self, size: int, accepted: bool = False) -> None:
        """Count the bytes of photos that wait to be read.

        Raises:
            Busy: all parts together would hold too much.
        """
        with self._lock:
            if size > 0 and not accepted and self._held + size > self._limits.held_bytes:
                raise Busy
            self._held += size

    def again(self, part: Part) -> list[Source]:
        """The kept photos as sources, for another reading."""
        return [
            Source(self.picture(part, picture.full)) for picture in part.pictures if picture.full
        ]

    def picture(self, part: Part, name: str) -> Path:
        """The file of one of the part's own pictures.

        Raises:
            KeyError: the part has no picture of that name.
        """
        known = {picture.full for picture in part.pictures}
        known |= {picture.view for picture in part.pictures}
        known |= {picture.thumb for picture in part.pictures}
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

    def sent(self, name: str) -> Part | None:
        """The part that came with the phone's upload of that name."""
        with self._lock:
            found = (part for part in self._parts.values() if name and part.sent == name)
            return next(found, None)

    def latest(self, count: int = 6, owner: str = "") -> list[Part]:
        """The newest parts, newest first; only those of one session if `owner` is given."""
        with self._lock:
            parts = [p for p in self._parts.values() if not owner or p.owner == owner]
            return parts[: -count - 1 : -1]

    def close(self) -> None:
        """Stop reading; what was accepted stays on disk for the next start."""
        self._readers.close()

    def _forget_old(self) -> None:
        old = self._now() - self._limits.part_seconds
        while self._parts:
            first = next(iter(self._parts.values()))
            if len(self._parts) <= self._limits.parts and first.born >= old:
                return
            del self._parts[first.id]
            shutil.rmtree(first.folder, ignore_errors=True)
