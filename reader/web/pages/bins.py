"""Bins: putting parts away, finding them again, changing what is known of them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.catalogue import Place
from reader.errors import InputError
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.search import A_PAGE, Result, find
from reader.web.service import Entry, bench_of, count_of, part_of, put_away, stock_of
from reader.web.uploads import read_form


def listed(request: Request) -> Response:
    """The catalogue: everything, or what the address asks for."""
    query = {name: value[:60] for name, value in request.query_params.items()}
    stock = stock_of(request)
    trouble: InputError | None = None
    try:
        result = find(stock.catalogue, query, request.app.state.settings.market)
    except InputError as error:
        trouble, result = error, Result()
    return page(
        request,
        "bins.html",
        422 if trouble else 200,
        title="Bins",
        query=query,
        result=result,
        trouble=trouble,
        bins=stock.bins(),
        step=A_PAGE,
    )


async def store_part(request: Request) -> Response:
    """Add the part on the bench to a bin."""
    part, form = part_of(request), await read_form(request)
    if not form.text("bin", 60):
        raise Refusal(422, "the bin has no name", "say into which bin it goes")
    place = Place(form.text("bin", 60), form.text("shelf", 60))
    entry = Entry(place, form.text("condition", 60), count_of(form.text("quantity", 8)))
    known = put_away(stock_of(request), part, entry)
    if known is not None:
        return page(
            request,
            "known.html",
            409,
            title="In the catalogue already",
            part=part,
            known=known,
            entry=entry,
        )
    return RedirectResponse(f"/part/{part.id}", status_code=303)


FIELDS = {"bin": 60, "shelf": 60, "condition": 60, "note": 200}  # and how long each may be


def mark_of(part: store.Part) -> str:
    """A short mark of the part as it stands: another one means that somebody changed it."""
    return hashlib.blake2b(repr(part).encode(), digest_size=8).hexdigest()


def one(request: Request) -> Response:
    """One part of the catalogue, with what happened to it."""
    return shown(request, request.path_params["code"])


def shown(
    request: Request, code: str, typed: Mapping[str, str] | None = None, status: int = 200
) -> Response:
    """The part's page; with `typed`, what a visitor wanted to save over somebody's newer change."""
    stock = stock_of(request)
    item = store.review_item(stock.catalogue, code)
    return page(
        request,
        "part.html",
        status,
        typed=typed,
        seen=mark_of(item.part),
        title=str(item.part.size or "Part"),
        item=item,
        part=item.part,
        history=store.history(stock.catalogue, item.part.code),
        bins=stock.bins(),
        sheets=list(store.STOCK),
    )


async def change(request: Request) -> Response:
    """Move a part, or change its condition, quantity or note; never over a newer change."""
    form = await read_form(request)
    stock, code = stock_of(request), request.path_params["code"]
    wanted = {name: form.text(name, most) for name, most in FIELDS.items()}
    with stock.changing:
        now = stock.find(code)
        if form.text("seen") and form.text("seen") != mark_of(now):
            return shown(request, code, wanted, 409)
        quantity = count_of(form.text("quantity", 8))
        store.change_part(stock.catalogue, code, quantity=quantity, **wanted)
    return RedirectResponse(f"/bins/{now.code}", status_code=303)


async def add_pieces(request: Request) -> Response:
    """More pieces of a part of the catalogue, or fewer; the bench part then counts as stored."""
    form = await read_form(request)
    stock, code = stock_of(request), request.path_params["code"]
    with stock.changing:
        now = stock.find(code)
        down = form.text("quantity", 8).removeprefix("-") != form.text("quantity", 8)
        count = count_of(form.text("quantity", 8).removeprefix("-"))
        quantity = min(9999, max(0, now.quantity + (-count if down else count)))
        store.change_part(stock.catalogue, now.code, quantity=quantity)
    try:
        part = bench_of(request).get(form.text("part", 40))
    except KeyError:
        return RedirectResponse(f"/bins/{now.code}", status_code=303)
    part.stored = now.code
    part.write()
    return RedirectResponse(f"/part/{part.id}", status_code=303)


ROUTES = [
    Route("/part/{part}/store", store_part, methods=["POST"]),
    Route("/bins", listed, methods=["GET"]),
    Route("/bins/{code}", one, methods=["GET"]),
    Route("/bins/{code}/more", add_pieces, methods=["POST"]),
    Route("/bins/{code}", change, methods=["POST"]),
]
