"""Labels to print for parts in the bins."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader import catalogue as store
from reader.tables import load_tables
from reader.web.refusals import Refusal
from reader.web.service import stock_of


def one(request: Request) -> Response:
    """A sheet with the label of one part, as PDF; `?sheet=` names the stock by its label's size.

    `?skip=` counts the labels that are gone from the sheet.
    """
    stock = stock_of(request)
    part = stock.find(request.path_params["code"])
    sheet = store.sheet_named(request.query_params.get("sheet", next(iter(store.STOCK)))[:20])
    gone = request.query_params.get("skip", "") or "0"
    if not (gone.isascii() and gone.isdigit() and int(gone[:4]) < sheet.count):
        raise Refusal(422, f"{gone[:8]!r} labels can't be gone", f"give 0 to {sheet.count - 1}")
    content = store.labels_pdf([part], sheet, load_tables(), int(gone))
    name = {"content-disposition": f'attachment; filename="label-{part.code}.pdf"'}
    return Response(content, media_type="application/pdf", headers=name)


ROUTES = [Route("/bins/{code}/label", one, methods=["GET"])]
