"""The counter's slip and the room in a frame, for programs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel

from reader.catalogue.query.slip import slips
from reader.catalogue.query.slip_text import sections
from reader.fit.grades import Grade
from reader.tables import load_tables
from reader.web.room import LENGTHS, answered
from reader.web.service import stock_of

ROUTER = APIRouter(tags=["fit"])
Length = Annotated[float | None, Query(ge=0, le=1000, description="mm")]


class SectionOut(BaseModel):
    """A heading with its sentences."""

    head: str
    lines: list[str]


class SlipOut(BaseModel):
    """One slip; `settle` is what must be asked first, empty if nothing."""

    title: str
    part: str
    bsd_mm: int
    names: list[str]
    grade: Grade | None
    settle: str
    bins: list[str]
    sections: list[SectionOut]


class RoomOut(BaseModel):
    """The largest tyres that surely, and that perhaps, keep the gap."""

    surely: str | None
    perhaps: str | None
    tightest: str
    free_mm: float
    grade: Grade | None
    bins: list[str]
    read_again: int


@ROUTER.get("/slip")
def slip(
    request: Request,
    of: Annotated[str, Query(min_length=1, max_length=60, examples=["622x19C"])],
    other: Annotated[str, Query(max_length=60, description="the other part or name")] = "",
) -> list[SlipOut]:
    """What a customer should know about a size, a part (by its code) or a tyre and a rim."""
    texts = [text for text in (of, other) if text.strip()]
    state = request.app.state
    made = slips(texts, load_tables(), stock_of(request).catalogue, state.settings.market)
    return [
        SlipOut(
            title=one.title,
            part=one.part,
            bsd_mm=one.size.bsd,
            names=list(one.names),
            grade=one.fit.grade if one.fit else None,
            settle=one.settle,
            bins=[found.part.code for found in one.there],
            sections=[SectionOut(head=head, lines=lines) for head, lines in sections(one)],
        )
        for one in made
    ]


@ROUTER.get("/clearance")
def clearance(
    request: Request,
    wheel: Annotated[str, Query(min_length=1, max_length=60, examples=["622x19C"])],
    fork: Length = None,
    stay: Length = None,
    mudguard: Length = None,
    height: Length = None,
    gap: Length = None,
) -> RoomOut:
    """The largest tyre that keeps a gap in frame, fork and mudguard, and such tyres in the bins."""
    given = dict(zip(LENGTHS, (fork, stay, mudguard, height, gap), strict=True))
    query = {name: f"{value:g}" for name, value in given.items() if value is not None}
    market = request.app.state.settings.market
    found = answered({**query, "wheel": wheel}, stock_of(request), market)
    assert found is not None  # a wheel was named
    room = found.room
    return RoomOut(
        surely=str(room.surely.size) if room.surely else None,
        perhaps=str(room.perhaps.size) if room.perhaps else None,
        tightest=room.tightest.name,
        free_mm=room.tightest.free,
        grade=room.surely.grade if room.surely else None,
        bins=[part.code for part in found.parts],
        read_again=found.unsure,
    )
