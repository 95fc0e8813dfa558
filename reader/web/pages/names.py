"""The names page: how sizes are named, and a table of all of them, made from the data."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.names.meanings import other_names
from reader.records import Size
from reader.tables import load_tables
from reader.web.render import page


@dataclass(frozen=True)
class Row:
    """One bead seat diameter, as the table shows it."""

    bsd: int
    kind: str  # 'wired' or 'beaded'
    names: tuple[str, ...]
    share: float  # of parts met, in the market asked for
    note: str
    source: str
    from_memory: bool


@cache
def rows(market: str) -> tuple[Row, ...]:
    """All bead seat diameters, largest first.

    Raises:
        InputError: there is no such market.
    """
    tables = load_tables()
    made = [
        Row(
            seat.bsd,
            seat.kind,
            other_names(Size(seat.bsd), tables),
            tables.prior(seat.bsd, market),
            seat.note,
            tables.sources.get(seat.source, seat.source),
            seat.from_memory,
        )
        for seat in tables.seats
    ]
    return tuple(sorted(made, key=lambda row: -row.bsd))


def wanted(row: Row, words: list[str]) -> bool:
    """Whether every word stands somewhere in the row."""
    text = " ".join((str(row.bsd), row.kind, *row.names, row.note)).lower()
    return all(word in text for word in words)


def show(request: Request) -> Response:
    """The page; `?find=` narrows the table for browsers without scripts."""
    find = request.query_params.get("find", "")[:60]
    words = find.lower().replace("×", "x").split()
    everything = rows(request.app.state.settings.market)
    return page(
        request,
        "names.html",
        title="How sizes are named",
        find=find,
        rows=[row for row in everything if wanted(row, words)],
        total=len(everything),
    )


ROUTES = [Route("/names", show, methods=["GET"])]
