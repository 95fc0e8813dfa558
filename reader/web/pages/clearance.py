"""The largest tyre that a frame, fork or mudguard takes, and such tyres in the bins."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.errors import InputError
from reader.fit.wheel import GAP
from reader.language import gettext
from reader.web.render import page
from reader.web.room import Found, answered
from reader.web.service import stock_of


def show(request: Request) -> Response:
    """The form, and below it the answer."""
    query = {name: value[:60] for name, value in request.query_params.items()}
    trouble: InputError | None = None
    found: Found | None = None
    try:
        found = answered(query, stock_of(request), request.app.state.settings.market)
    except InputError as error:
        trouble = error
    return page(
        request,
        "clearance.html",
        422 if trouble else 200,
        title=gettext("Largest tyre"),
        query=query,
        found=found,
        trouble=trouble,
        gap=f"{GAP:g}",
    )


ROUTES = [Route("/clearance", show, methods=["GET"])]
