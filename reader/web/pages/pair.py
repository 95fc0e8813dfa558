"""Pairing: the code from the terminal, typed or scanned, opens the bench to this phone."""

from __future__ import annotations

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader.language import gettext
from reader.web.refusals import Refusal
from reader.web.render import page, refusal_page
from reader.web.security import fresh_token, same_code
from reader.web.uploads import read_form

WRONG = Refusal(403, "that code is not right", "read it again from the server's terminal")


async def ask(request: Request) -> Response:
    """The form for the code."""
    return page(request, "pair.html", title=gettext("Pair this phone"))


async def typed(request: Request) -> Response:
    """The code was typed in."""
    form = await read_form(request)
    return _paired(request, form.text("code", 40))


async def scanned(request: Request) -> Response:
    """The code came with the address, from the QR picture."""
    return _paired(request, request.path_params["code"])


def let_in(request: Request) -> Response:
    """The QR code for the next phone, shown to those who are in already."""
    settings = request.app.state.settings
    picture = None
    if settings.pairing:
        made = segno.make(f"{settings.address}pair/{settings.code}", error="m")
        inline = made.svg_inline(scale=8, border=4, dark="#000", light="#fff", svgclass="qr")
        picture = Markup(inline)
    return page(
        request,
        "let_in.html",
        title=gettext("Let another phone in"),
        picture=picture,
        address=settings.address,
        code=settings.code,
        fingerprint=settings.fingerprint,
    )


def _paired(request: Request, code: str) -> Response:
    settings = request.app.state.settings
    if not same_code(code, settings.code):
        return refusal_page(request, WRONG)
    request.session.clear()  # a session from before the code is worth nothing
    request.session.update(paired=True, token=fresh_token())
    return RedirectResponse("/", status_code=303)


ROUTES = [
    Route("/pair", ask, methods=["GET"]),
    Route("/pair", typed, methods=["POST"]),
    Route("/let-in", let_in, methods=["GET"]),
    Route("/pair/{code}", scanned, methods=["GET"]),
]
