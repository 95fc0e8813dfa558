"""Every type that passes between the stages, in the order in which they arise.

`Photo` → `Region` → `Strip` → `Hypothesis` → `Marking` → `Candidate` → `Reading`. Each keeps what
it came from, so that 'why?' is a walk back. Arrays live in `Photo`, `Strip` and `Hypothesis` only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    Floats = NDArray[np.float32]
else:  # every command imports this module, and most never need numpy: a tenth of a second saved
    Pixels = Floats = Any

PartKind = Literal["tyre", "rim", "tube", "unknown"]
KindOfPart = Literal["tyre", "rim", "tube", "other"]  # as an answer; other: no bicycle's
FactName = Literal[
    "pressure", "load", "tubeless", "hookless", "direction", "e_bike", "brake", "wear_mark",
    "erd", "holes", "threads", "date", "edge",
]  # fmt: skip
# 'alone': no other cut of its line reads it so; 'covered': something lies across its letters.
Doubt = Literal["", "alone", "covered"]
Value = TypeVar("Value", int, float, KindOfPart)


class Verdict(StrEnum):
    """How far an answer can be trusted, from best to none."""

    SURE = "sure"  # at least 99 of 100 such answers are right
    LIKELY = "likely"  # check before you build on it
    CANT_TELL = "can't tell"  # markings were read, but they do not settle the size
    NONE = "none"  # no size marking was found


@dataclass(frozen=True)
class Size:
    """An ISO 5775 size: nominal width and bead seat diameter, in millimetres.

    `width` is the nominal inflated width of a tyre, or the inner width of a rim; `None` where the
    text tells the diameter only.
    """

    bsd: int
    width: float | None = None

    def __str__(self) -> str:
        return f"{'?' if self.width is None else format(self.width, 'g')}-{self.bsd}"


@dataclass(frozen=True, eq=False)
class Photo:
    """One picture, upright (EXIF orientation already applied), RGB, uint8, H x W x 3."""

    name: str
    pixels: Pixels
    part: PartKind = "unknown"  # what the user says it shows
    # x, y, width, height of the marking, from the user
    box: tuple[int, int, int, int] | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return self.pixels.shape[0], self.pixels.shape[1]


@dataclass(frozen=True, eq=False)
class Region:
    """A line of text, or a band that may hold one: a centre line in photo pixels and its height.

    `centreline` is N x 2 (x, y), float32, in reading direction, so that the text's upper side lies
    to the left of the walk in image terms (for a walk to the right: towards smaller y).
    """

    photo: Photo
    centreline: Floats
    height: float  # of the text's band, in photo pixels, measured across the line
    score: float = 1.0  # the finder's own, 0..1
    finder: str = ""  # who found it: 'lines', 'box', 'scene'


@dataclass(frozen=True, eq=False)
class Strip:
    """A region laid straight: grey, uint8, H x W; column 0 is where reading starts."""

    region: Region
    pixels: Pixels
    variant: str = "plain"  # name of the enhancement


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """What one engine sees in one strip.

    `log_probs` is T x C (natural logarithms, column 0 is the CTC blank) over `alphabet` (C - 1
    letters), or `None` from engines that only give a string.
    """

    engine: str
    text: str
    score: float  # the engine's own, 0..1, uncalibrated
    strip: Strip | None = None
    log_probs: Floats | None = None
    alphabet: str = ""
    char_scores: tuple[float, ...] = ()  # one per letter of text, where the engine tells


@dataclass(frozen=True, eq=False)
class Marking:
    """One possible reading of a piece of text as a known notation.

    `numbers` holds the notation's own parts in its own units, e.g. {'width_mm': 47, 'bsd_mm': 507},
    {'diameter_in': 26, 'width_in': 1.375, 'width_text': '1 3/8'} or
    {'low_kpa': 350, 'high_kpa': 600}.
    """

    notation: str  # the notation's module name, e.g. 'iso_pair'
    text: str  # tidied, as a mechanic would write it: '47-507', '26 x 1 3/8', '700x28C'
    numbers: Mapping[str, float | str]
    span: tuple[int, int] = (0, 0)  # where in the hypothesis' text
    cost: float = 0.0  # natural-log penalty for damage assumed, 0 for a clean match
    hypothesis: Hypothesis | None = None
    cut: bool = False  # it runs up to the photo's edge, and may go on outside
    doubt: Doubt = ""  # why it is never sure, however clear its letters


@dataclass(frozen=True)
class Evidence:
    """One named reason for or against a candidate; weight is in natural-log odds."""

    name: str  # 'ISO pair read', 'French name agrees', …
    detail: str  # what was read, where
    weight: float
    photo: str = ""  # name of the photo
    engine: str = ""


@dataclass(frozen=True)
class Candidate:
    """A size that the markings can mean, with its share of the belief and why."""

    size: Size
    part: PartKind  # what kind of part this reading makes of the photo
    probability: float
    evidence: tuple[Evidence, ...] = ()
    names: tuple[str, ...] = ()  # other names of the same size


@dataclass(frozen=True)
class Judgement(Generic[Value]):
    """One answer and how probable it is that it is right; no value where nothing tells it.

    `others` are the values that it could be instead, most probable first. `nominal` marks a width
    that an inch or French name gives, which the tyre's own may differ from by some millimetres.
    """

    value: Value | None = None
    probability: float = 0.0
    verdict: Verdict = Verdict.NONE
    others: tuple[tuple[Value, float], ...] = ()
    nominal: bool = False

    @property
    def told(self) -> bool:
        """Whether the answer can be used: sure, or likely and to be checked."""
        return self.verdict in (Verdict.SURE, Verdict.LIKELY)


@dataclass(frozen=True)
class Fact:
    """What else the part says: `value` for programs, `text` as it was read."""

    name: FactName
    value: float | str | bool
    text: str
    probability: float
    photo: str = ""


@dataclass(frozen=True, eq=False)
class Reading:
    """The answer for one part: diameter, width and kind, each judged alone, and what to do next.

    `verdict` is of the whole size, so never better than that of its diameter or of its width.
    """

    candidates: tuple[Candidate, ...]  # most probable first
    verdict: Verdict
    part: PartKind = "unknown"
    photos: tuple[str, ...] = ()
    markings: tuple[Marking, ...] = ()  # all that were found, decoys and pressures included
    advice: tuple[str, ...] = ()  # which further photo or measurement would settle it
    contradictions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    calibrated: bool = False
    bsd_probability: float = 0.0  # that the best candidate's diameter is right, whatever the width
    diameter: Judgement[int] = Judgement()  # bead seat diameter in mm
    width: Judgement[float] = Judgement()  # nominal of a tyre, inner of a rim, in mm
    kind: Judgement[KindOfPart] = Judgement()
    facts: tuple[Fact, ...] = ()
    seconds: float = 0.0
    regions: tuple[Region, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        """Candidates that nobody judged, as typed or stored ones, judge the three answers."""
        best = self.best
        if best is None or self.diameter.value is not None:
            return
        size, said = best.size, self.verdict
        bsd = min(1.0, sum(one.probability for one in self.candidates if one.size.bsd == size.bsd))
        put = object.__setattr__  # the record is frozen for everybody else
        put(self, "diameter", Judgement(size.bsd, max(bsd, self.bsd_probability), said))
        if size.width is not None:
            put(self, "width", Judgement(size.width, self.size_probability, said))
        if best.part != "unknown":
            put(self, "kind", Judgement(best.part, self.size_probability, said))

    @property
    def best(self) -> Candidate | None:
        """The most probable candidate, if any."""
        return self.candidates[0] if self.candidates else None

    @property
    def told_size(self) -> str:
        """The size as far as it is told: '47-507', '?-507', '' if not even the diameter is."""
        if not self.diameter.told or self.diameter.value is None:
            return ""
        open_width = not self.width.told or self.width.nominal
        return str(Size(self.diameter.value, None if open_width else self.width.value))

    @property
    def size_probability(self) -> float:
        """That the best candidate's numbers are right, whether they stand on a tyre or a rim."""
        if not self.candidates:
            return 0.0
        size = self.candidates[0].size
        return min(1.0, sum(one.probability for one in self.candidates if one.size == size))
