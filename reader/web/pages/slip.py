"""The counter's slip: one page about a size, a part or a tyre and a rim, to show or to print."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.catalogue.io.slip_pdf import slip_pdf
from reader.catalogue.query.slip import Slip, slips
from reader.catalogue.query.slip_text import sections
from reader.errors import InputError
from reader.language import gettext
from reader.tables import load_tables
from reader.web.render import page
from reader.web.service import stock_of


def made(request: Request) -> tuple[Slip, ...]:
    """The slips that `?of=` asks for, and `&with=` for the other part of a pair.

    Raises:
        InputError: no size and no part's code.
    """
    asked = [request.query_params.get(name, "").strip()[:60] for name in ("of", "with")]
    texts = [text for text in asked if text]
    if not texts:
        return ()
    market = request.app.state.settings.market
    return slips(texts, load_tables(), stock_of(request).catalogue, market)


def show(request: Request) -> Response:
    """The form, and below it the slip."""
    trouble: InputError | None = None
    found: tuple[Slip, ...] = ()
    try:
        found = made(request)
    except InputError as error:
        trouble = error
    query = {name: value[:60] for name, value in request.query_params.items()}
    return page(
        request,
        "slip.html",
        422 if trouble else 200,
        title=gettext("Slip for the customer"),
        query=query,
        pages=[(one, list(sections(one))) for one in found],
        trouble=trouble,
    )


def printed(request: Request) -> Response:
    """The same as a PDF to print.

    Raises:
        InputError: nothing was asked for, or no size and no part's code.
    """
    found = made(request)
    if not found:
        raise InputError("no size was given", "ask for example /slip.pdf?of=622x19C")
    name = {"content-disposition": 'attachment; filename="slip.pdf"'}
    return Response(slip_pdf(found), media_type="application/pdf", headers=name)


ROUTES = [
    Route("/slip", show, methods=["GET"]),
    Route("/slip.pdf", printed, methods=["GET"]),
]
