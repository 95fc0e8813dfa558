"""Pairs of parts that look like one photographed twice, and a person's word on them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.language import gettext
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.service import stock_of
from reader.web.uploads import read_form

AT_ONCE = 20  # new parts compared while a visitor waits


def show(request: Request) -> Response:
    """The most alike pair that nobody has settled; new parts are compared first, some at a time."""
    catalogue = stock_of(request).catalogue
    left = store.suggest(catalogue, most=AT_ONCE).left
    pairs = store.doubles(catalogue)
    done = request.query_params.get("done", "")[:40].split("-")
    return page(
        request,
        "doubles.html",
        title=gettext("One part twice?"),
        pair=pairs[0] if pairs else None,
        count=len(pairs),
        left=left,
        done=done if len(done) == 2 and all(_known(catalogue, one) for one in done) else None,
    )


def _known(catalogue: store.Catalogue, code: str) -> bool:
    from reader.errors import InputError

    try:
        return bool(store.get_part(catalogue, code))
    except InputError:
        return False


def picture(request: Request) -> Response:
    """Both markings, one above the other."""
    codes = request.path_params["code"], request.path_params["other"]
    png = store.side_by_side(stock_of(request).catalogue, *codes)
    if png is None:
        raise Refusal(404, "these parts have no pictures of their markings")
    return Response(png, media_type="image/png", headers={"cache-control": "private, max-age=600"})


async def say(request: Request) -> Response:
    """What the visitor says of the two."""
    form = await read_form(request)
    codes = request.path_params["code"], request.path_params["other"]
    stock = stock_of(request)
    with stock.changing:
        store.say(stock.catalogue, *codes, form.text("said", 10), request.state.person)
    return RedirectResponse(f"/doubles?done={'-'.join(codes)}", status_code=303)


ROUTES = [
    Route("/doubles", show, methods=["GET"]),
    Route("/doubles/{code}/{other}", picture, methods=["GET"]),
    Route("/doubles/{code}/{other}", say, methods=["POST"]),
]
