"""Snap: photos in, one part begun."""

from __future__ import annotations

import asyncio
from typing import get_args

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader.records import PartKind
from reader.web.parts import Bench, Part
from reader.web.refusals import Refusal
from reader.web.render import page, wants_json
from reader.web.uploads import Form, read_form
from reader.web.worker import Source

NO_SCRIPT_WAIT = 20.0  # seconds that a browser without scripts is kept waiting for the answer


async def start(request: Request) -> Response:
    """The first page."""
    bench: Bench = request.app.state.bench
    return page(
        request,
        "snap.html",
        title="Snap a tyre or a rim",
        latest=bench.latest(),
        kind=kind_of(request.query_params.get("kind", "")),
        pair=bench.known(request.query_params.get("pair", "")[:40]),
    )


async def take(request: Request) -> Response:
    """Photos of one part arrive."""
    part, form = await arrived(request, "choose a photo first")
    part.pair = request.app.state.bench.known(form.text("pair", 40))
    return await to_part(request, part)


async def arrived(request: Request, remedy: str) -> tuple[Part, Form]:
    """The part whose photos the request brings, now waiting to be read, and the whole form.

    Raises:
        Refusal: no photo, or too many or too large ones; the queue is full.
    """
    form = await read_form(request)
    if not form.files:
        raise Refusal(400, "no photo came", remedy)
    bench: Bench = request.app.state.bench
    sources = [Source(data) for data in form.files]
    return bench.add(sources, part_kind(form), request.app.state.settings.market), form


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


def part_kind(form: Form) -> PartKind:
    """What the visitor says the part is."""
    return kind_of(form.text("kind"))


def kind_of(said: str) -> PartKind:
    """A kind of part from its name; 'unknown' for anything else."""
    kinds: tuple[PartKind, ...] = get_args(PartKind)
    return next((kind for kind in kinds if kind == said), "unknown")


ROUTES = [
    Route("/", start, methods=["GET"]),
    Route("/snap", take, methods=["POST"]),
]
