"""The shapes that the API takes and gives. Lengths in mm, pressures in kPa, shares from 0 to 1."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints

Kind = Literal["tyre", "rim", "tube", "unknown"]
Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=60)]
Words = Annotated[str, StringConstraints(strip_whitespace=True, max_length=200)]


class Trouble(BaseModel):
    """What is wrong, and what to do next."""

    error: str
    remedy: str


class MeaningOut(BaseModel):
    """One size that a text can mean."""

    size: str = Field(examples=["37-590"])
    bsd_mm: int
    width_mm: float | None
    part: str
    share: float
    why: str
    from_memory: bool


class SizeOut(BaseModel):
    """A size and its other names."""

    size: str
    bsd_mm: int
    width_mm: float | None
    names: list[str]


class DiameterOut(BaseModel):
    """One bead seat diameter."""

    bsd_mm: int
    kind: Literal["wired", "beaded"]
    names: list[str]
    share: float
    note: str
    source: str
    from_memory: bool


class PartOut(BaseModel):
    """A part on the bench. `reading` is there once `state` is done."""

    id: str
    state: Literal["waiting", "reading", "done", "failed"]
    step: str
    share: float
    kind: str
    size: str | None
    chosen: bool
    error: str = ""
    remedy: str = ""
    pictures: list[str] = []
    in_catalogue: str | None = None
    reading: dict[str, Any] | None = None


class SizeIn(BaseModel):
    """A size as marked or as ISO pair."""

    size: Text = Field(min_length=1, examples=["37-590"])


class PlaceIn(BaseModel):
    """Where a part goes."""

    bin: Text = Field(min_length=1)
    shelf: Text = ""
    condition: Text = ""
    quantity: int = Field(default=1, ge=0, le=9999)


class NewPartIn(PlaceIn):
    """A part without photos, its size told by a person."""

    size: Text = Field(min_length=1)
    kind: Kind = "tyre"
    note: Words = ""


class ChangeIn(BaseModel):
    """What shall be different; what is left out stays."""

    bin: Text | None = None
    shelf: Text | None = None
    condition: Text | None = None
    note: Words | None = None
    quantity: int | None = Field(default=None, ge=0, le=9999)


class ShareOut(BaseModel):
    """A size that a part may have."""

    size: str
    kind: str
    probability: float


class StockOut(BaseModel):
    """A part in the catalogue."""

    code: str
    kind: str
    size: str | None
    probability: float
    verdict: str
    bsd_verdict: str
    bsd_probability: float
    width_verdict: str
    state: str
    bin: str
    shelf: str
    condition: str
    quantity: int
    note: str
    arrived: str


class FittingOut(BaseModel):
    """A part that may go with the one in hand; `grade` keeps the doubt of its reading."""

    part: StockOut
    grade: str
    if_right: str
    chance: float
    width_open: bool  # only the diameters are known to go together


class FoundOut(BaseModel):
    """What a search found; `may_mean` tells the sizes that an unclear text can mean."""

    parts: list[StockOut]
    fitting: list[FittingOut]
    tubes: list[StockOut]
    may_mean: list[str]
    more: bool


class PairOut(BaseModel):
    """A rim and a tyre that go together; `grade` keeps the doubt of both readings."""

    rim: StockOut
    tyre: StockOut
    grade: str
    if_right: str
    chance: float
    width_open: bool  # only the diameters are known to go together


class LoneOut(BaseModel):
    """A size of which pieces lie there without a partner."""

    kind: str
    size: str
    pieces: int


class PairsOut(BaseModel):
    """The best pairs, how many there are in all, and what stays alone."""

    pairs: list[PairOut]
    count: int
    alone: list[LoneOut]


class DoubleOut(BaseModel):
    """Two parts that look like one; `said` is a person's word, `gone` which of them it took out."""

    part: StockOut
    other: StockOut
    likeness: float
    said: Literal["", "same", "different"]
    gone: str


class DoubleIn(BaseModel):
    """A person's word on two parts."""

    part: Text
    other: Text
    said: Literal["same", "different"]


class CountOut(BaseModel):
    """One line of the tally, in pieces; `low` to `high` holds the truth in 95 of 100 cases."""

    name: str
    expected: float
    low: int
    high: int
    certain: int
    settled: int
    possible: int


class ReviewOut(BaseModel):
    """A part that waits for a look."""

    part: StockOut
    candidates: list[ShareOut]


class DecisionIn(BaseModel):
    """What a person says about a part: the rank of a candidate, a size, or an act."""

    rank: int | None = Field(default=None, ge=1, le=50)
    size: Text = ""
    act: Literal["", "again", "skip", "undo"] = ""
