"""The catalogue, for programs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query, Request

from reader import catalogue as store
from reader.catalogue import Place
from reader.web.api.forms import (
    ChangeIn,
    DecisionIn,
    NewPartIn,
    ReviewOut,
    ShareOut,
    StockOut,
)
from reader.web.pages.review import decide
from reader.web.sizing import typed_size
from reader.web.uploads import Form

ROUTER = APIRouter(tags=["catalogue"])
Code = Annotated[str, Path(max_length=40, examples=["7KQ4M-2XDAB"])]


@ROUTER.post("/catalogue", status_code=201)
def add(request: Request, new: NewPartIn) -> StockOut:
    """Add a part by hand."""
    meant = typed_size(new.size, new.kind)
    part = store.add_part(
        request.app.state.shelf.catalogue,
        place=Place(new.bin, new.shelf),
        size=meant.size,
        kind=new.kind,
        quantity=new.quantity,
        condition=new.condition,
        note=new.note,
    )
    return stocked(part)


@ROUTER.get("/catalogue/{code}")
def one(request: Request, code: Code) -> StockOut:
    """One part."""
    return stocked(request.app.state.shelf.find(code))


@ROUTER.patch("/catalogue/{code}")
def change(request: Request, code: Code, to: ChangeIn) -> StockOut:
    """Move a part, or change its condition, quantity or note."""
    part = store.change_part(
        request.app.state.shelf.catalogue, code, **to.model_dump(exclude_none=True)
    )
    return stocked(part)


@ROUTER.get("/review")
def queue(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=100)] = 20,
    bin: Annotated[str, Query(max_length=60)] = "",
) -> list[ReviewOut]:
    """What waits for a look, most worthwhile first."""
    items = store.review_queue(request.app.state.shelf.catalogue, limit=limit, bin=bin)
    return [
        ReviewOut(
            part=stocked(item.part),
            candidates=[
                ShareOut(size=str(s.size), kind=s.kind, probability=s.probability)
                for s in item.shares
            ],
        )
        for item in items
    ]


@ROUTER.post("/review/{code}")
def settle(request: Request, code: Code, said: DecisionIn) -> StockOut:
    """A person's decision on a part; the machine's reading stays."""
    fields = {"size": said.size, "act": said.act, "rank": str(said.rank or "")}
    decide(request.app.state.shelf.catalogue, code, Form(fields))
    return stocked(request.app.state.shelf.find(code))


def stocked(part: store.Part) -> StockOut:
    """A catalogue part as the API shows it."""
    return StockOut(
        code=part.code,
        kind=part.kind,
        size=str(part.size) if part.size else None,
        probability=part.probability,
        verdict=part.verdict,
        state=part.state,
        bin=part.bin,
        shelf=part.shelf,
        condition=part.condition,
        quantity=part.quantity,
        note=part.note,
        arrived=part.arrived,
    )
