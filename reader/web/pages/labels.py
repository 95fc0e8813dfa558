"""Labels to print for parts in the bins: one at once, or collected for a sheet."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader import catalogue as store
from reader.errors import UnknownCodeError
from reader.language import gettext
from reader.tables import load_tables
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.service import stock_of
from reader.web.uploads import read_form

MOST = 120  # labels collected; they are kept in the session's cookie


def one(request: Request) -> Response:
    """The label of one part, as PDF; `?sheet=` names the stock by its label's size.

    `?skip=` counts the labels that are gone from the sheet; with `?print=` it opens printing.
    """
    return printed(request, [stock_of(request).find(request.path_params["code"])])


def show(request: Request) -> Response:
    """The labels collected so far."""
    sheets, parts = list(store.STOCK), collected(request)
    sheet = request.session.get("sheet", "")
    title = gettext("Labels")
    return page(request, "labels.html", title=title, parts=parts, sheets=sheets, sheet=sheet)


def whole(request: Request) -> Response:
    """All collected labels, as PDF."""
    parts = collected(request)
    if not parts:
        raise Refusal(404, "no label is collected", "collect some in the bins")
    return printed(request, parts)


async def collect(request: Request) -> Response:
    """One label more for the sheet, or all of them printed and gone."""
    form = await read_form(request)
    if form.text("clear"):
        request.session.pop("labels", None)
        return RedirectResponse("/labels", status_code=303)
    code = stock_of(request).find(form.text("code", 40)).code
    known = request.session.get("labels", "").split()
    if len(known) >= MOST:
        raise Refusal(422, f"{MOST} labels are collected already", "print them first")
    request.session["labels"] = " ".join(dict.fromkeys([*known, code]))
    return RedirectResponse("/labels", status_code=303)


def collected(request: Request) -> list[store.Part]:
    """The parts whose labels this visitor has collected; what left the catalogue falls away."""
    found = []
    for code in request.session.get("labels", "").split():
        try:
            found.append(stock_of(request).find(code))
        except UnknownCodeError:
            continue
    return found


def printed(request: Request, parts: Sequence[store.Part]) -> Response:
    """A PDF of the labels; the stock is remembered for the next time."""
    query = request.query_params
    name = query.get("sheet", "")[:20] or request.session.get("sheet") or next(iter(store.STOCK))
    sheet = store.sheet_named(name)
    gone = query.get("skip", "") or "0"
    if not (gone.isascii() and gone.isdigit() and int(gone[:4]) < sheet.count):
        raise Refusal(422, f"{gone[:8]!r} labels can't be gone", f"give 0 to {sheet.count - 1}")
    request.session["sheet"] = name
    at_once = bool(query.get("print"))
    content = store.labels_pdf(parts, sheet, load_tables(), int(gone), at_once=at_once)
    way = "inline" if at_once else "attachment"
    file = f"label-{parts[0].code}" if len(parts) == 1 else "labels"
    headers = {"content-disposition": f'{way}; filename="{file}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


ROUTES = [
    Route("/bins/{code}/label", one, methods=["GET"]),
    Route("/labels", show, methods=["GET"]),
    Route("/labels", collect, methods=["POST"]),
    Route("/labels/print", whole, methods=["GET"]),
]
