"""The catalogue, for programs."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request

from reader import catalogue as store
from reader.catalogue import Place
from reader.catalogue.query.tally import By, tally
from reader.names.typed import parse
from reader.tables import load_tables
from reader.web.api.forms import (
    ChangeIn,
    CountOut,
    DecisionIn,
    DoubleIn,
    DoubleOut,
    FittingOut,
    FoundOut,
    LoneOut,
    NewPartIn,
    PairOut,
    PairsOut,
    ReviewOut,
    ShareOut,
    StockOut,
)
from reader.web.search import find
from reader.web.service import decide
from reader.web.uploads import Form

ROUTER = APIRouter(tags=["catalogue"])
Few = Annotated[str, Query(max_length=60)]
Code = Annotated[str, Path(max_length=40, examples=["7KQ4M-2XDAB"])]


@ROUTER.get("/catalogue")
def find_parts(
    request: Request,
    size: Few = "",
    fits: Few = "",
    kind: Literal["", "tyre", "rim", "tube"] = "",
    bin: Few = "",
    text: Few = "",
    hub: Few = "",
    start: Annotated[int, Query(ge=0, le=9_999_999)] = 0,
) -> FoundOut:
    """Search by size, place and words, or by what `fits` the tyre or rim of that size.

    `kind` says, together with `fits`, what that size is of; `hub` the spoke holes that rims
    need. At most 50 parts; `start` goes on.
    """
    query = {
        "size": size,
        "fits": fits,
        "kind": kind,
        "bin": bin,
        "text": text,
        "hub": hub,
        "from": str(start),
    }
    state = request.app.state
    found = find(state.stock.catalogue, query, state.settings.market)
    return FoundOut(
        parts=[stocked(part) for part in found.parts],
        fitting=[
            FittingOut(
                part=stocked(one.part),
                grade=one.fit.grade.value,
                if_right=one.fit.if_right.value,
                chance=one.fit.chance,
                width_open=one.fit.width_open,
            )
            for one in found.fitting
        ],
        tubes=[stocked(one.part) for one in found.tubes],
        may_mean=[str(one.size) for one in found.options],
        more=found.more,
    )


@ROUTER.get("/pairs")
def pairs(
    request: Request,
    bin: Few = "",
    hub: Annotated[int | None, Query(ge=8, le=144)] = None,
    limit: Annotated[int, Query(ge=1, le=500)] = 50,
    any_condition: bool = False,
) -> PairsOut:
    """Rims and tyres in the bins that make a wheel, best first; each piece is used once."""
    catalogue, every = request.app.state.stock.catalogue, any_condition
    made, alone = store.pairs(catalogue, load_tables(), bin, all_conditions=every, hub=hub)
    return PairsOut(
        pairs=[
            PairOut(
                rim=stocked(one.rim),
                tyre=stocked(one.tyre),
                grade=one.grade.value,
                if_right=one.if_right.value,
                chance=one.chance,
                width_open=one.width_open,
            )
            for one in made[:limit]
        ],
        count=len(made),
        alone=[LoneOut(kind=x.kind, size=str(x.size), pieces=x.pieces) for x in alone],
    )


@ROUTER.get("/tally")
def count(
    request: Request,
    by: By = "size",
    kind: Literal["", "tyre", "rim", "tube"] = "",
    bin: Few = "",
) -> list[CountOut]:
    """Pieces by size or another sort, most common first, with the doubt of the readings."""
    return [
        CountOut(**asdict(one)) for one in tally(request.app.state.stock.catalogue, by, kind, bin)
    ]


@ROUTER.get("/doubles")
def doubles(request: Request, settled: bool = False, bin: Few = "") -> list[DoubleOut]:
    """Parts that look like one photographed twice, most alike first, as far as compared."""
    found = store.doubles(request.app.state.stock.catalogue, settled, bin)
    return [double(pair) for pair in found]


@ROUTER.post("/doubles")
def settle_double(request: Request, word: DoubleIn) -> DoubleOut:
    """Whether two parts are one: `same` counts it once, `different` takes that back."""
    stock = request.app.state.stock
    with stock.changing:
        pair = store.say(stock.catalogue, word.part, word.other, word.said, request.state.person)
    return double(pair)


def double(pair: store.Double) -> DoubleOut:
    """A pair as the API shows it."""
    return DoubleOut(
        part=stocked(pair.part),
        other=stocked(pair.other),
        likeness=pair.likeness,
        said=pair.said,  # type: ignore[arg-type]
        gone=pair.gone,
    )


@ROUTER.post("/catalogue", status_code=201)
def add(request: Request, new: NewPartIn) -> StockOut:
    """Add a part by hand."""
    meant = parse(new.size, load_tables()).one(new.kind)
    part = store.add_part(
        request.app.state.stock.catalogue,
        place=Place(new.bin, new.shelf),
        size=meant.size,
        kind=new.kind,
        quantity=new.quantity,
        condition=new.condition,
        note=new.note,
        person=request.state.person,
    )
    return stocked(part)


@ROUTER.get("/catalogue/{code}")
def one(request: Request, code: Code) -> StockOut:
    """One part."""
    return stocked(request.app.state.stock.find(code))


@ROUTER.patch("/catalogue/{code}")
def change(request: Request, code: Code, to: ChangeIn) -> StockOut:
    """Move a part, or change its condition, quantity or note."""
    part = store.change_part(
        request.app.state.stock.catalogue,
        code,
        request.state.person,
        **to.model_dump(exclude_none=True),
    )
    return stocked(part)


@ROUTER.get("/review")
def queue(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=100)] = 20,
    bin: Annotated[str, Query(max_length=60)] = "",
) -> list[ReviewOut]:
    """What waits for a look, most worthwhile first."""
    items = store.review_queue(request.app.state.stock.catalogue, limit=limit, bin=bin)
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
    decide(request.app.state.stock.catalogue, code, Form(fields), request.state.person)
    return stocked(request.app.state.stock.find(code))


def stocked(part: store.Part) -> StockOut:
    """A catalogue part as the API shows it."""
    return StockOut(
        code=part.code,
        kind=part.kind,
        size=str(part.size) if part.size else None,
        probability=part.probability,
        verdict=part.verdict,
        bsd_verdict=part.bsd_verdict,
        bsd_probability=part.bsd_probability,
        width_verdict=part.width_verdict,
        state=part.state,
        bin=part.bin,
        shelf=part.shelf,
        condition=part.condition,
        quantity=part.quantity,
        note=part.note,
        arrived=part.arrived,
    )
