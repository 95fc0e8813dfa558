"""The tally: which sizes are most common, counted with the doubt of the readings."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import cast

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.catalogue.query.plot import PHONE, drawing, svg
from reader.catalogue.query.tally import BYS, By, Line, tally
from reader.language import gettext, said
from reader.web.render import page
from reader.web.service import stock_of

COMMANDS = ("=", "+", "-", "@", "\t", "\r")  # what spreadsheets take for the start of a formula
WORDS = {
    "size": "ISO size",
    "bsd": "bead seat diameter",
    "width": "width",
    "kind": "kind",
    "month": "month of arrival",
    "year": "year of arrival",
    "bin": "bin",
    "depot": "depot",
}


def counted(request: Request) -> tuple[By, str, str, list[Line]]:
    """What the address asks to be counted: by what, kind, bin, and the lines."""
    query = request.query_params
    by = cast(By, query.get("by") if query.get("by") in BYS else "bsd")
    kind = query.get("kind", "") if query.get("kind") in ("tyre", "rim", "tube") else ""
    bin = query.get("bin", "")[:60]
    stock = stock_of(request)
    return by, kind, bin, tally(stock.catalogue, by, kind, bin)


def show(request: Request) -> Response:
    """The plot and the table."""
    by, kind, bin, lines = counted(request)
    named = [replace(one, name=shown_name(one.name, by)) for one in lines]
    plot = None
    if lines:
        made = drawing(named, f"Pieces by {WORDS[by]}", PHONE, said)
        plot = Markup(svg(made, inline=True))
    return page(
        request,
        "tally.html",
        title=gettext("Tally"),
        by=by,
        kind=kind,
        bin=bin,
        lines=lines,
        words=WORDS,
        shown_name=shown_name,
        plot=plot,
        bins=stock_of(request).bins(),
        address=request.url.query,
    )


def shown_name(name: str, by: str) -> str:
    """A line's name with the numbers in the order in which the kind of part bears them.

    >>> shown_name("19-622 rim", "size"), shown_name("47-507 tyre", "size")
    ('622x19 rim', '47-507 tyre')
    """
    size, _, kind = name.partition(" ")
    width, _, bsd = size.partition("-")
    return f"{bsd}x{width} {kind}" if by == "size" and kind == "rim" and bsd else name


def table(request: Request) -> Response:
    """The same as CSV; no cell can start a formula."""
    by, _, _, lines = counted(request)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([by, "expected", "low", "high", "certain", "settled", "possible"])
    for one in lines:
        cells = (one.expected, one.low, one.high, one.certain, one.settled, one.possible)
        writer.writerow([harmless(one.name), *cells])
    headers = {"content-disposition": f'attachment; filename="tally-by-{by}.csv"'}
    return Response(out.getvalue(), media_type="text/csv; charset=utf-8", headers=headers)


def harmless(text: str) -> str:
    """The text so that no spreadsheet runs it (OWASP, CSV injection).

    >>> harmless("=1+1"), harmless("47-507")
    ("'=1+1", '47-507')
    """
    return f"'{text}" if text.startswith(COMMANDS) else text


ROUTES = [
    Route("/tally", show, methods=["GET"]),
    Route("/tally.csv", table, methods=["GET"]),
]
