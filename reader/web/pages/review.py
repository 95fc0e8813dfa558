"""The review queue: what the machine is unsure of, one part at a time."""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.shelf import Shelf
from reader.web.sizing import typed_size
from reader.web.uploads import Form, read_form

VIEW_SIDE = 1400


def show(request: Request) -> Response:
    """The part that is most worth a look, or one that is named."""
    shelf: Shelf = request.app.state.shelf
    bin = request.query_params.get("bin", "")[:60]
    items = store.review_queue(shelf.catalogue, limit=1, bin=bin)
    return page(
        request,
        "review.html",
        title="Review",
        item=items[0] if items else None,
        counts=store.waiting(shelf.catalogue),
        bins=shelf.bins(),
        bin=bin,
        done=request.query_params.get("done", "")[:20],
    )


async def say(request: Request) -> Response:
    """What the visitor says about a part."""
    form = await read_form(request)
    code = request.path_params["code"]
    decide(request.app.state.shelf.catalogue, code, form)
    back = f"/review?done={code}" + (f"&bin={form.text('bin')}" if form.text("bin") else "")
    return RedirectResponse(back, status_code=303)


def decide(catalogue: store.Catalogue, code: str, form: Form) -> None:
    """Write down one decision.

    Raises:
        Refusal: the form says nothing that can be done.
        InputError: no such part or candidate, or a size that makes no sense.
    """
    rank, size, act = form.text("rank", 3), form.text("size", 60), form.text("act")
    if rank.isdigit():
        store.accept(catalogue, code, int(rank))
    elif act == "again":
        store.photograph_again(catalogue, code)
    elif act == "skip":
        store.skip(catalogue, code)
    elif act == "undo":
        store.reopen(catalogue, code)
    elif size:
        kind = store.get_part(catalogue, code).kind
        meant = typed_size(size, kind)
        store.correct(catalogue, code, meant.size, meant.part, size, rim_kind=meant.rim_kind)
    else:
        raise Refusal(400, "nothing was said about the part", "choose one of the buttons")


def strip(request: Request) -> Response:
    """The straightened marking of a part in the catalogue."""
    item = store.review_item(request.app.state.shelf.catalogue, request.path_params["code"])
    if item.strip is None:
        raise Refusal(404, "this part has no picture of its marking")
    return Response(item.strip, media_type="image/png", headers=KEPT)


def photo(request: Request) -> Response:
    """A photo of a part in the catalogue, small and without metadata.

    The address names the part and a number; the path comes from the catalogue.
    """
    item = store.review_item(request.app.state.shelf.catalogue, request.path_params["code"])
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
