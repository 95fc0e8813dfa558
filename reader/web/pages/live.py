"""The live sweep: viewfinder, frames in, what is known out, and the part it ends in."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from reader.language import gettext, said
from reader.records import Verdict
from reader.web.incoming import NAME
from reader.web.live import Finish, Live, Look
from reader.web.pages.outbox import after, check_token
from reader.web.refusals import Refusal
from reader.web.render import page
from reader.web.service import bench_of, kind_of, owner_of
from reader.web.uploads import chunks, read_form
from reader.web.words import percent, verdict_word

FRAME = 2_000_000  # bytes of one frame at most


def live_of(request: Request) -> Live:
    """The process for live sweeps."""
    live: Live = request.app.state.live
    return live


async def show(request: Request) -> Response:
    """The viewfinder; the process is started meanwhile."""
    query = request.query_params
    await run_in_threadpool(live_of(request).start)
    return page(
        request,
        "live.html",
        title=gettext("Sweep live"),
        kind=kind_of(query.get("kind", "")),
        pair=bench_of(request).known(query.get("pair", "")[:40]),
    )


async def look(request: Request) -> Response:
    """One frame in, what is known so far out."""
    check_token(request)
    name = proper(request)
    body = bytearray()
    with request.app.state.ledger.account() as take:
        async for chunk in chunks(request, request.app.state.settings.limits, FRAME):
            take(len(chunk))
            body += chunk
        market = request.app.state.settings.market
        kind = kind_of(request.query_params.get("kind", ""))
        asked = Look(name, bytes(body), kind, market)
        told = await run_in_threadpool(live_of(request).ask, asked)
    told["hints"] = [said(hint) for hint in told.get("hints", [])]
    for judged in ("diameter", "width"):
        if judged in told:
            verdict = Verdict(told[judged]["verdict"])
            told[judged]["words"] = verdict_word(verdict)
            told[judged]["share"] = percent(told[judged]["probability"])
    return JSONResponse(told)


async def finish(request: Request) -> Response:
    """The end: a part on the bench with the sweep's answer."""
    form = await read_form(request)
    name, bench = proper(request), bench_of(request)
    part = bench.sent(name)
    if part is None:
        kind = kind_of(form.text("kind"))
        market = request.app.state.settings.market
        pair = bench.known(form.text("pair", 40))
        part = bench.blank(kind, market, pair, owner_of(request), name)
        folder = bench.folder_for(part)
        outcome = await run_in_threadpool(live_of(request).ask, Finish(name, folder))
        bench.adopt(part, folder, outcome)
    return JSONResponse({"address": after(part, form.text("then", 10))}, 202)


def proper(request: Request) -> str:
    """The phone's name for the sweep.

    Raises:
        Refusal: it is none.
    """
    name: str = request.path_params["name"]
    if not NAME.fullmatch(name):
        raise Refusal(400, "this sweep has no proper name", "load the page again")
    return name


ROUTES = [
    Route("/live", show, methods=["GET"]),
    Route("/live/{name}", look, methods=["POST"]),
    Route("/live/{name}/end", finish, methods=["POST"]),
]
