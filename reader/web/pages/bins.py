"""Bins: putting parts away, finding them again, changing what is known of them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.catalogue import Place
from reader.errors import InputError
from reader.web.finding import A_PAGE, Result, find
from reader.web.pages.answer import decided_kind, part_of
from reader.web.pages.snap import kind_of
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.shelf import Shelf
from reader.web.uploads import Form, read_form


def listed(request: Request) -> Response:
    """The catalogue: everything, or what the address asks for."""
    query = {name: value[:60] for name, value in request.query_params.items()}
    shelf: Shelf = request.app.state.shelf
    trouble: InputError | None = None
    try:
        result = find(shelf.catalogue, query, request.app.state.settings.market)
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
        bins=shelf.bins(),
        step=A_PAGE,
    )


async def shelve(request: Request) -> Response:
    """Add the part on the bench to a bin."""
    part, form = part_of(request), await read_form(request)
    if not form.text("bin", 60):
        raise Refusal(422, "the bin has no name", "say into which bin it goes")
    place = Place(form.text("bin", 60), form.text("shelf", 60))
    put_away(
        request.app.state.shelf,
        part,
        place,
        form.text("condition", 60),
        number_of(form, "quantity"),
    )
    return RedirectResponse(f"/part/{part.id}", status_code=303)


def put_away(shelf: Shelf, part: Part, place: Place, condition: str, quantity: int) -> None:
    """Bring a part from the bench into the catalogue, once.

    Raises:
        Refusal: it is not read yet, or in the catalogue already.
        InputError: no size is known.
    """
    if part.reading is None:
        raise Refusal(409, "this part is not read yet", "wait for the answer first")
    if part.shelved:
        raise Refusal(409, "this part is in the catalogue already", "change it there")
    kind = kind_of(decided_kind(part))
    part.shelved = shelf.put(part, kind, place, condition, quantity).code


def number_of(form: Form, name: str) -> int:
    """A count from a form; 1 if absent.

    Raises:
        Refusal: not a whole number from 0 to 9999.
    """
    text = form.text(name, 8) or "1"
    if not (text.isascii() and text.isdigit() and int(text) <= 9999):
        raise Refusal(422, f"{text!r} is no count", "give a whole number, such as 1")
    return int(text)


def one(request: Request) -> Response:
    """One part of the catalogue, with what happened to it."""
    shelf: Shelf = request.app.state.shelf
    item = store.review_item(shelf.catalogue, request.path_params["code"])
    return page(
        request,
        "part.html",
        title=str(item.part.size or "Part"),
        item=item,
        part=item.part,
        history=store.history(shelf.catalogue, item.part.code),
        bins=shelf.bins(),
        sheets=list(store.STOCK),
    )


async def change(request: Request) -> Response:
    """Move a part, or change its condition, quantity or note."""
    form = await read_form(request)
    code = request.path_params["code"]
    store.change_part(
        request.app.state.shelf.catalogue,
        code,
        bin=form.text("bin", 60),
        shelf=form.text("shelf", 60),
        condition=form.text("condition", 60),
        quantity=number_of(form, "quantity"),
        note=form.text("note"),
    )
    return RedirectResponse(f"/bins/{code}", status_code=303)


ROUTES = [
    Route("/part/{part}/shelve", shelve, methods=["POST"]),
    Route("/bins", listed, methods=["GET"]),
    Route("/bins/{code}", one, methods=["GET"]),
    Route("/bins/{code}", change, methods=["POST"]),
]
