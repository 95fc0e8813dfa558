"""The names page: how sizes are named, and a table of all of them, made from the data."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.language import gettext
from reader.web.render import page
from reader.web.service import Diameter, diameters


def wanted(row: Diameter, words: list[str]) -> bool:
    """Whether every word stands somewhere in the row."""
    text = " ".join((str(row.bsd), row.kind, *row.names, row.note)).lower()
    return all(word in text for word in words)


def show(request: Request) -> Response:
    """The page; `?find=` narrows the table for browsers without scripts."""
    find = request.query_params.get("find", "")[:60]
    words = find.lower().replace("×", "x").split()
    everything = diameters(request.app.state.settings.market)
    return page(
        request,
        "names.html",
        title=gettext("How sizes are named"),
        find=find,
        rows=[row for row in everything if wanted(row, words)],
        total=len(everything),
    )


ROUTES = [Route("/names", show, methods=["GET"])]
