"""The server's side of the phone's outbox: photos in pieces, that go on where they broke off."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from reader.web.incoming import Incoming
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.security import masked
from reader.web.service import bench_of, choose, kind_of, owner_of
from reader.web.uploads import chunks, read_form

PIECE = 4_000_000  # bytes of one piece at most


def incoming_of(request: Request) -> Incoming:
    """The uploads under way."""
    incoming: Incoming = request.app.state.incoming
    return incoming


def look(request: Request) -> Response:
    """What is here of an upload, and the session's token: a page may be older than the session."""
    name = request.path_params["name"]
    part = bench_of(request).sent(name)
    return JSONResponse(
        {
            "token": masked(request.state.token),
            "sizes": incoming_of(request).sizes(owner_of(request), name),
            "address": address(part) if part else None,
        }
    )


async def piece(request: Request) -> Response:
    """A piece of a photo: `?at=` says from which byte on."""
    check_token(request)
    at = request.query_params.get("at", "")
    if not (at.isascii() and at.isdigit() and len(at) < 12):
        raise Refusal(400, "a piece without its place", "send it again")
    limits = request.app.state.settings.limits
    with request.app.state.ledger.account() as take:
        body = bytearray()
        async for chunk in chunks(request, limits, PIECE):
            take(len(chunk))
            body += chunk
        names = request.path_params
        here = await run_in_threadpool(
            incoming_of(request).add,
            owner_of(request),
            names["name"],
            names["photo"],
            int(at),
            bytes(body),
        )
    return JSONResponse({"size": here})


async def whole(request: Request) -> Response:
    """All photos are here: the part begins to be read, once, however often this is said."""
    name, bench = request.path_params["name"], bench_of(request)
    form = await read_form(request)
    part = bench.sent(name)
    if part is None:
        owner, incoming = owner_of(request), incoming_of(request)
        photos = incoming.photos(owner, name)
        if not photos:
            raise Refusal(409, "no photo of it has arrived", "send it again")
        older = bench.known(form.text("part", 40))
        if older:
            part = bench.get(older)
            if not part.ended.is_set():
                raise Refusal(503, "this part is being read", "it is sent when that is done")
            bench.check_room()
            bench.read(part, [*bench.again(part), *bench.bring(part, photos)], sent=name)
            choose(part, None, "")
        else:
            part = bench.add(
                photos,
                kind_of(form.text("kind")),
                request.app.state.settings.market,
                pair=bench.known(form.text("pair", 40)),
                owner=owner,
                sent=name,
            )
        incoming.forget(owner, name)
    return JSONResponse({"address": after(part, form.text("then", 10))}, 202)


def address(part: Part) -> str:
    """Where the part's answer stands."""
    return f"/part/{part.id}"


def after(part: Part, then: str) -> str:
    """Where the visitor goes: to the other part that shall go with it, to their fit, or here."""
    if then in ("rim", "tyre"):
        return f"/?kind={then}&pair={part.id}"
    if part.pair:
        own, other = ("rim", "tyre") if part.kind == "rim" else ("tyre", "rim")
        return f"/fit?{own}_part={part.id}&{other}_part={part.pair}"
    return address(part)


def check_token(request: Request) -> None:
    """Make sure that the piece comes from the page.

    Raises:
        Refusal: it does not carry the session's token.
    """
    if not request.state.trusted:
        raise Refusal(403, "this form is too old", "go back, load the page again and resend it")


ROUTES = [
    Route("/outbox/{name}", look, methods=["GET"]),
    Route("/outbox/{name}", whole, methods=["POST"]),
    Route("/outbox/{name}/{photo:int}", piece, methods=["POST"]),
]
