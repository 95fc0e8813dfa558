"""The review queue: what the machine is unsure of, one part at a time."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.errors import UnknownCodeError
from reader.language import gettext
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.service import decide, mark_of, stock_of
from reader.web.uploads import read_form

VIEW_SIDE = 1400


def show(request: Request, newer: str = "", status: int = 200) -> Response:
    """The part that is most worth a look; `newer` is what was typed over a newer decision."""
    stock = stock_of(request)
    bin = request.query_params.get("bin", "")[:60]
    items = store.review_queue(stock.catalogue, limit=1, bin=bin)
    return page(
        request,
        "review.html",
        status,
        title=gettext("Review"),
        item=items[0] if items else None,
        seen=mark_of(items[0].part) if items else "",
        newer=newer,
        counts=store.waiting(stock.catalogue),
        bins=stock.bins(),
        bin=bin,
        done=known_code(stock.catalogue, request.query_params.get("done", "")),
    )


async def say(request: Request) -> Response:
    """What the visitor says about a part."""
    form = await read_form(request)
    code = request.path_params["code"]
    stock = stock_of(request)
    with stock.changing:
        if form.text("seen") and form.text("seen") != mark_of(stock.find(code)):
            return show(request, form.text("size", 60) or "-", 409)
        decide(stock.catalogue, code, form, request.state.person)
    back = {"done": code} | ({"bin": form.text("bin", 60)} if form.text("bin", 60) else {})
    return RedirectResponse(f"/review?{urlencode(back)}", status_code=303)


def known_code(catalogue: store.Catalogue, said: str) -> str:
    """The code of a part of the catalogue; '' for anything else that an address may say."""
    try:
        return store.get_part(catalogue, said).code if said else ""
    except UnknownCodeError:
        return ""


def strip(request: Request) -> Response:
    """The straightened marking of a part in the catalogue."""
    item = store.review_item(stock_of(request).catalogue, request.path_params["code"])
    if item.strip is None:
        raise Refusal(404, "this part has no picture of its marking")
    return Response(item.strip, media_type="image/png", headers=KEPT)


def photo(request: Request) -> Response:
    """A photo of a part in the catalogue, small and without metadata.

    The address names the part and a number; the path comes from the catalogue.
    """
    item = store.review_item(stock_of(request).catalogue, request.path_params["code"])
    number = request.path_params["number"]
    if not 1 <= number <= len(item.photos):
        raise Refusal(404, "this part has no such photo")
    return Response(small(Path(item.photos[number - 1])), media_type="image/jpeg", headers=KEPT)


KEPT = {"cache-control": "private, max-age=600"}


def small(path: Path) -> bytes:
    """A JPEG of at most `VIEW_SIDE` pixels, drawn anew from the pixels.

    Raises:
        Refusal: the file is gone or can't be opened.
    """
    import cv2

    from reader.errors import PhotoError
    from reader.photo.load import load

    try:
        pixels = load(path, "the photo").pixels
    except PhotoError as error:
        raise Refusal(404, "this photo is no longer there") from error
    scale = min(1.0, VIEW_SIDE / max(pixels.shape[:2]))
    size = tuple(max(1, round(side * scale)) for side in pixels.shape[1::-1])
    view = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    bgr = cv2.cvtColor(view, cv2.COLOR_RGB2BGR)
    return bytes(cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, 82])[1].tobytes())


ROUTES = [
    Route("/review", show, methods=["GET"]),
    Route("/review/{code}", say, methods=["POST"]),
    Route("/bins/{code}/strip", strip, methods=["GET"]),
    Route("/bins/{code}/photo/{number:int}", photo, methods=["GET"]),
]
