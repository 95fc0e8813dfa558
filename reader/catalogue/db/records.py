"""What goes into and comes out of the catalogue, as plain values that pickle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from reader.records import PartKind, Size


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


APART = ("bsd_verdict", "bsd_probability", "width_verdict")


def as_whole(shares: Sequence[Share], verdict: str) -> dict[str, Any]:
    """The columns `APART` of a part whose diameter and width are as sure as its whole size.

    >>> as_whole([Share("tyre", 622, 37.0, 0.5), Share("tyre", 622, 35.0, 0.25)], "likely")
    {'bsd_verdict': 'likely', 'bsd_probability': 0.75, 'width_verdict': 'likely'}
    """
    if not shares:
        return dict(zip(APART, ("none", 0.0, "none"), strict=True))
    best = shares[0]
    told = min(1.0, sum(one.probability for one in shares if one.bsd == best.bsd))
    width = "none" if best.width is None else verdict
    return dict(zip(APART, (verdict, told, width), strict=True))


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
    facts: Mapping[str, Any] = field(default_factory=dict)  # column -> value, read off the part
    split: str = ""  # why its photos may show two parts, '' if nothing speaks for it
    foreign: str = ""  # why it is no part of a bicycle, '' if it may be one
    seconds: float = 0.0
    engines: str = ""  # which read, as JSON: `reader.ocr.stamp`
    wanting: str = ""  # engines that should have read but could not, a space between
    bsd_verdict: str = ""  # of the first share's diameter and width, each alone; '': as the whole
    bsd_probability: float = 0.0
    width_verdict: str = ""
    around: bytes | None = None  # grey JPEG of what surrounds the marking, see `surroundings`

    def __post_init__(self) -> None:
        """What nobody judged apart is as sure as the whole size."""
        whole = as_whole(self.shares, self.verdict)
        put = object.__setattr__  # the record is frozen for everybody else
        for name in ("bsd_verdict", "width_verdict"):
            put(self, name, getattr(self, name) or whole[name])
        told = max(self.bsd_probability, whole["bsd_probability"])
        put(self, "bsd_probability", told)

    @property
    def apart(self) -> dict[str, Any]:
        """The columns that judge diameter and width alone."""
        return {name: getattr(self, name) for name in APART}


@dataclass(frozen=True)
class PhotoRef:
    """A photo as the catalogue knows it: by its content."""

    digest: str  # BLAKE2b of the bytes, 40 hex digits
    path: str
    name: str
    taken: str = ""  # ISO date and time from the camera, '' if it tells none


class Failure(NamedTuple):
    """Why a photo could not be read: a fault of the photo itself."""

    reason: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.reason}: {self.remedy}" if self.remedy else self.reason


@dataclass(frozen=True)
class Place:
    """Where a part lies."""

    bin: str = ""
    shelf: str = ""
    depot: str = ""


@dataclass(frozen=True)
class Arrival:
    """One part coming in: its photos, where it lies, and what was read."""

    photos: tuple[PhotoRef, ...]
    findings: Findings | None  # None: none of the photos could be read
    failures: Mapping[str, Failure] = field(default_factory=dict)  # by digest
    source: str | None = None
    code: str | None = None  # from a label that was printed beforehand
    kind: PartKind = "unknown"  # what the user says it is
    place: Place = Place()
    arrived: str = ""  # ISO date
    said: Mapping[str, Any] = field(default_factory=dict)  # columns that a person fills in
    person: str = ""
