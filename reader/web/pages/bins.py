"""Bins: putting parts away, finding them again, changing what is known of them."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.catalogue import Place
from reader.catalogue.columns import TOLD
from reader.errors import InputError
from reader.language import gettext
from reader.records import PartKind
from reader.web.refusals import Refusal
from reader.web.render import page, wants_json
from reader.web.rights import Role, demand
from reader.web.search import A_PAGE, Result, find
from reader.web.service import (
    UNREAD,
    add_pieces,
    bench_of,
    count_of,
    decided_kind,
    mark_of,
    part_of,
    put_away,
    size_of,
    stock_of,
    take_back,
)
from reader.web.sides import bench_part, side
from reader.web.stock import Entry
from reader.web.uploads import read_form
from reader.web.words import size_text


def listed(request: Request) -> Response:
    """The catalogue: everything, or what the address asks for."""
    query = {name: value[:60] for name, value in request.query_params.items()}
    stock = stock_of(request)
    trouble: InputError | None = None
    market, given = request.app.state.settings.market, None
    try:
        part = bench_part(query.get("fits_part", ""), bench_of(request))
        if part is not None:
            kind: PartKind = "rim" if decided_kind(part) == "rim" else "tyre"
            given = side(kind, {f"{kind}_part": part.id}, bench_of(request), market)
        result = find(stock.catalogue, query, market, given)
    except InputError as error:
        trouble, result = error, Result()
    return page(
        request,
        "bins.html",
        422 if trouble else 200,
        title=gettext("Bins"),
        query=query,
        result=result,
        trouble=trouble,
        given=given,
        bins=stock.bins(),
        step=A_PAGE,
    )


def choose_bin(request: Request) -> Response:
    """Into which bin: the last one first, two taps from the answer."""
    part = part_of(request)
    if part.reading is None:
        raise UNREAD
    stock, last = stock_of(request), request.session.get("bin", "")
    return page(
        request,
        "bin.html",
        title=gettext("Into which bin?"),
        part=part,
        size=size_of(part),
        kind=decided_kind(part),
        last=last,
        with_label=bool(request.session.get("label")),
        bins=stock.bins(),
    )


async def store_part(request: Request) -> Response:
    """Add the part on the bench to a bin."""
    part, form = part_of(request), await read_form(request)
    if not form.text("bin", 60):
        raise Refusal(422, "the bin has no name", "say into which bin it goes")
    place = Place(form.text("bin", 60), form.text("shelf", 60))
    count = count_of(form.text("quantity", 8))
    entry = Entry(place, form.text("condition", 60), count, request.state.person)
    known = put_away(stock_of(request), part, entry)
    if known is not None:
        return page(
            request,
            "known.html",
            409,
            title=gettext("In the catalogue already"),
            part=part,
            known=known,
            entry=entry,
        )
    request.session["bin"], label = place.bin, form.text("label", 1)
    if bool(label) != bool(request.session.get("label")):
        request.session["label"] = bool(label)
    if wants_json(request):
        size = size_of(part)
        what = size_text(size, decided_kind(part)) if size else ""
        said = gettext("%(size)s added to %(bin)s") % {"size": what, "bin": place.bin}
        return JSONResponse({"said": said})
    where = f"/bins/{part.stored}/label?print=1" if label else f"/part/{part.id}"
    return RedirectResponse(where, status_code=303)


FIELDS = {"bin": 60, "shelf": 60, "condition": 60, "note": 200}  # and how long each may be
MORE = tuple(column for column in TOLD if column.name not in (*FIELDS, "quantity"))


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
        more=MORE,
        seen=mark_of(item.part),
        title=str(item.part.size or gettext("Part")),
        item=item,
        part=item.part,
        history=store.history(stock.catalogue, item.part.code),
        bins=stock.bins(),
        sheets=list(store.STOCK),
        sheet=request.session.get("sheet", ""),
    )


async def change(request: Request) -> Response:
    """Move a part, or change its condition, quantity or note; never over a newer change."""
    form = await read_form(request)
    stock, code = stock_of(request), request.path_params["code"]
    wanted = {name: form.text(name, most) for name, most in FIELDS.items()}
    told = (column.name for column in MORE if column.name in form.fields)
    wanted |= {name: form.text(name) for name in told}
    with stock.changing:
        now = stock.find(code)
        if form.text("seen") and form.text("seen") != mark_of(now):
            typed = {**wanted, "quantity": form.text("quantity", 8)}
            return shown(request, code, typed, 409)
        quantity = count_of(form.text("quantity", 8))
        store.change_part(stock.catalogue, code, request.state.person, quantity=quantity, **wanted)
    return RedirectResponse(f"/bins/{now.code}", status_code=303)


async def pieces(request: Request) -> Response:
    """More pieces of a part of the catalogue, or fewer; the bench part then counts as stored."""
    form = await read_form(request)
    stock, code = stock_of(request), request.path_params["code"]
    try:
        part = bench_of(request).get(form.text("part", 40))
    except KeyError:
        part = None
    if form.text("undo") and part is not None:
        take_back(stock, part, request.state.person)
        return RedirectResponse(f"/part/{part.id}", status_code=303)
    count = count_of(form.text("quantity", 8), below=True)
    if count < 0:  # helpers add; what they just added they may take back, above
        demand(request, Role.KEEPER)
    now = add_pieces(stock, code, count, request.state.person)
    if part is None:
        return RedirectResponse(f"/bins/{now.code}", status_code=303)
    part.stored, part.added = now.code, max(0, part.added + count)
    part.write()
    return RedirectResponse(f"/part/{part.id}", status_code=303)


ROUTES = [
    Route("/part/{part}/bin", choose_bin, methods=["GET"]),
    Route("/part/{part}/store", store_part, methods=["POST"]),
    Route("/bins", listed, methods=["GET"]),
    Route("/bins/{code}", one, methods=["GET"]),
    Route("/bins/{code}/more", pieces, methods=["POST"]),
    Route("/bins/{code}", change, methods=["POST"]),
]
