"""What goes into and comes out of the catalogue, as plain values that pickle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reader.records import PartKind, Size

KINDS = ("tyre", "rim", "tube", "unknown")
STATES = ("open", "accepted", "corrected", "again", "doubted")
SETTLED = ("accepted", "corrected")


@dataclass(frozen=True)
class Share:
    """A size that a part may have, and how much of the belief it has (0..1)."""

    kind: str
    bsd: int  # mm
    width: float | None  # mm
    probability: float

    @property
    def size(self) -> Size:
        """As an ISO size."""
        return Size(self.bsd, self.width)


@dataclass(frozen=True)
class Findings:
    """What one reading of one part's photos said, ready to be stored."""

    verdict: str
    kind: str
    shares: tuple[Share, ...]  # falling probability
    document: str  # the whole reading as JSON
    strip: bytes | None = None  # PNG of the straightened marking
    rim_kind: str = ""
    tube_label: str = ""
    seconds: float = 0.0


@dataclass(frozen=True)
class PhotoRef:
    """A photo as the catalogue knows it: by its content."""

    digest: str  # BLAKE2b of the bytes, 40 hex digits
    path: str
    name: str
    taken: str = ""  # ISO date and time from the camera, '' if it tells none


@dataclass(frozen=True)
class Place:
    """Where a part lies."""

    bin: str = ""
    shelf: str = ""


@dataclass(frozen=True)
class Arrival:
    """One part coming in: its photos, where it lies, and what was read."""

    photos: tuple[PhotoRef, ...]
    findings: Findings | None  # None: none of the photos could be read
    failures: Mapping[str, str] = field(default_factory=dict)  # digest -> reason
    source: str | None = None
    code: str | None = None  # from a label that was printed beforehand
    kind: PartKind = "unknown"  # what the user says it is
    place: Place = Place()
    arrived: str = ""  # ISO date
    condition: str = ""
    quantity: int = 1
    note: str = ""
    rim_kind: str = ""  # what the user says of a rim's edge
    tube_label: str = ""


@dataclass(frozen=True)
class Part:
    """A part as it counts now."""

    code: str
    source: str | None
    kind: str
    bsd: int | None  # mm
    width: float | None  # mm
    probability: float  # that the size is right, 0..1; 1 once a person settled it
    verdict: str
    state: str
    rim_kind: str
    tube_label: str
    bin: str
    shelf: str
    condition: str
    quantity: int
    note: str
    arrived: str
    gain: float
    skips: int

    @property
    def size(self) -> Size | None:
        """The size that counts, if any."""
        return None if self.bsd is None else Size(self.bsd, self.width)

    @property
    def settled(self) -> bool:
        """Whether a person has confirmed it."""
        return self.state in SETTLED
