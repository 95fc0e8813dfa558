"""A part on the bench: what was snapped, how far reading is, what the visitor said since."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from reader.records import PartKind, Reading, Size
from reader.web import kept
from reader.web.worker import Line, Outcome, Picture, Source

State = Literal["waiting", "reading", "done", "failed"]


@dataclass(eq=False)
class Part:
    """One part on the bench. Written by the readers' threads and the pages, read by all."""

    id: str
    folder: Path
    born: float
    kind: PartKind = "unknown"
    market: str = "world"
    state: State = "waiting"
    step: str = "waiting"
    share: float = 0.0
    sources: tuple[Source, ...] = ()  # accepted, not yet read
    outcome: Outcome | None = None
    chosen: Size | None = None  # the visitor's word, beside the machine's
    chosen_edge: str = ""  # letters of the rim's edge in that word
    pair: str = ""  # the bench part that it was snapped to go with
    owner: str = ""  # the session that brought it
    sent: str = ""  # the phone's own name for the upload: a second time it is the same part
    stored: str | None = None  # its code in the catalogue
    ended: threading.Event = field(default_factory=threading.Event)
    queued: float = 0.0
    runs: int = 0
    tries: int = 0  # servers that began to read it and did not end
    drawn: Path | None = None  # folder of the pictures of the outcome
    running: Path | None = None  # folder that the reading under way draws into
    added: int = 0  # pieces that the last adding to the catalogue brought

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

    @property
    def early(self) -> bool:
        """Whether the reading under way has drawn its first picture already."""
        return self.running is not None and (self.running / "1-thumb.webp").exists()

    def write(self) -> None:
        """Write down everything but the outcome, which `Run` writes."""
        kept.write_sheet(
            self.folder,
            {
                "id": self.id,
                "born": self.born,
                "kind": self.kind,
                "market": self.market,
                "sources": [kept.source_values(one, self.folder) for one in self.sources],
                "chosen": kept.size_values(self.chosen),
                "chosen_edge": self.chosen_edge,
                "pair": self.pair,
                "owner": self.owner,
                "sent": self.sent,
                "stored": self.stored,
                "tries": self.tries,
                "added": self.added,
                "drawn": self.drawn.name if self.drawn else "",
            },
        )


def written(folder: Path) -> Part | None:
    """The part that was written down in the folder; None if it can't be understood."""
    sheet = kept.read_sheet(folder)
    try:
        part = Part(
            sheet["id"],
            folder,
            sheet["born"],
            sheet["kind"],
            sheet["market"],
            sources=tuple(kept.source_from(one, folder) for one in sheet["sources"]),
            chosen=kept.size_from(sheet["chosen"]),
            chosen_edge=sheet["chosen_edge"],
            pair=sheet["pair"],
            owner=sheet["owner"],
            sent=sheet["sent"],
            stored=sheet["stored"],
            tries=sheet["tries"],
            added=sheet["added"],
            drawn=folder / sheet["drawn"] if sheet["drawn"] else None,
        )
    except (KeyError, TypeError, ValueError):
        return None
    part.outcome = kept.read_outcome(part.drawn) if part.drawn else None
    return part
