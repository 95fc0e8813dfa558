"""Snap: photos in, one part begun."""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader.language import gettext
from reader.web.parts import Part
from reader.web.render import page, wants_json
from reader.web.service import arrived, bench_of, kind_of, owner_of

NO_SCRIPT_WAIT = 20.0  # seconds that a browser without scripts is kept waiting for the answer
ON_BENCH = 20  # parts listed on the first page


async def start(request: Request) -> Response:
    """The first page."""
    bench, query = bench_of(request), request.query_params
    owner = owner_of(request)
    mine = bench.latest(ON_BENCH, owner)
    everything = bench.latest(ON_BENCH)
    all_of_them = query.get("bench") == "all" or not mine
    return page(
        request,
        "snap.html",
        title=gettext("Snap a tyre or a rim"),
        latest=everything if all_of_them else mine,
        shared=any(part.owner != owner for part in everything),
        whole=all_of_them,
        kind=kind_of(query.get("kind", "")),
        pair=bench.known(query.get("pair", "")[:40]),
        live=request.url.scheme == "https" or request.url.hostname in ("localhost", "127.0.0.1"),
        then=query.get("then", "") if query.get("then") in ("rim", "tyre") else "",
    )


async def take(request: Request) -> Response:
    """Photos of one part arrive."""
    part, _ = await arrived(request, "choose a photo first")
    return await to_part(request, part)


async def to_part(request: Request, part: Part) -> Response:
    """Send the visitor to the part: at once for the script, else when it is read."""
    address = f"/part/{part.id}"
    if wants_json(request):
        return JSONResponse({"address": address}, 202)
    await ended(part, NO_SCRIPT_WAIT)
    return RedirectResponse(address, status_code=303)


async def ended(part: Part, seconds: float) -> bool:
    """Wait, without holding a thread, until the part is read; False if it takes longer."""
    loop = asyncio.get_running_loop()
    end = loop.time() + seconds
    while not part.ended.is_set():
        if loop.time() >= end:
            return False
        await asyncio.sleep(0.05)
    return True


ROUTES = [
    Route("/", start, methods=["GET"]),
    Route("/snap", take, methods=["POST"]),
]
