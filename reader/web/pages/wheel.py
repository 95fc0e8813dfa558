"""The rest of the job for one tyre: tubes, pressure, outer diameter, roll-out, room, swaps."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.errors import InputError
from reader.fit.pressure import pressure_range
from reader.fit.tube import labels_for, look_for
from reader.fit.wheel import clearance, outer_diameter, rolling, swap
from reader.language import gettext
from reader.records import Size
from reader.tables import load_tables
from reader.web.render import page
from reader.web.sides import Side, rim_of, side, tyre_of


def show(request: Request) -> Response:
    """Everything about the tyre that `?tyre=` names."""
    query = {name: value[:80] for name, value in request.query_params.items()}
    bench, market = request.app.state.bench, request.app.state.settings.market
    trouble: InputError | None = None
    found: dict[str, Any] = {}
    tyre, instead = Side("tyre"), Side("tyre")
    try:
        tyre = side("tyre", query, bench, market)
        instead = side("tyre", {"tyre": query.get("instead", "")}, bench, market)
        if tyre.meant is not None:
            rim = side("rim", query, bench, market)
            found = facts(tyre, rim, instead.meant.size if instead.meant else None, query)
    except InputError as error:
        trouble = error
    return page(
        request,
        "wheel.html",
        422 if trouble else 200,
        title=gettext("Tube, pressure, roll-out"),
        query=query,
        tyre=tyre,
        instead=instead,
        found=found,
        trouble=trouble,
    )


def facts(tyre: Side, rim: Side, instead: Size | None, query: dict[str, str]) -> dict[str, Any]:
    """What the tables and formulas tell about a tyre.

    Raises:
        InputError: a size without width, or one that no bicycle has.
    """
    tables = load_tables()
    assert tyre.meant is not None
    size = tyre.meant.size
    wheel = rim_of(rim.meant, query) if rim.meant else None
    found: dict[str, Any] = {
        "size": size,
        "tubes": labels_for(size, tables),
        "look_for": look_for(size),
        "pressure": pressure_range(tyre_of(tyre.meant, query), wheel, tables),
        "sources": tables.sources,
    }
    if size.width is not None:
        found["outer"] = outer_diameter(size)
        found["rolling"] = rolling(size, tables)
        found["room"] = clearance(size, wheel.size.width if wheel else None)
        if instead is not None:
            found["swap"] = swap(size, instead, tables)
    return found


ROUTES = [Route("/wheel", show, methods=["GET"])]
