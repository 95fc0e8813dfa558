"""Pairs of rim and tyre in the bins that make a wheel, and what stays alone."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader import catalogue as store
from reader.fit.mount import CAUTIONS
from reader.language import gettext
from reader.tables import load_tables
from reader.web.render import page
from reader.web.search import holes_of
from reader.web.service import stock_of

SHOWN = 50  # pairs, and sizes without a partner


def show(request: Request) -> Response:
    """The best pairs, of all bins or of one."""
    stock = stock_of(request)
    bin = request.query_params.get("bin", "")[:60]
    hub = holes_of(request.query_params.get("hub", "")[:4])
    every = bool(request.query_params.get("any_condition"))
    tables = load_tables()
    made, alone = store.pairs(stock.catalogue, tables, bin, all_conditions=every, hub=hub)
    return page(
        request,
        "pairs.html",
        title=gettext("Pairs"),
        made=made,
        alone=alone,
        shown=SHOWN,
        cautions=CAUTIONS,
        bins=stock.bins(),
        bin=bin,
        hub=hub,
        every=every,
    )


ROUTES = [Route("/pairs", show, methods=["GET"])]
