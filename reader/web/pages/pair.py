"""Pairing: the code from the terminal, typed or scanned, opens the bench to this phone."""

from __future__ import annotations

from dataclasses import dataclass

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reader.language import gettext, said
from reader.web.refusals import Refusal
from reader.web.render import page, refusal_page
from reader.web.rights import Role, codes, may, role_of
from reader.web.security import fresh_token
from reader.web.uploads import read_form

WRONG = Refusal(403, "that code is not right", "read it again from the server's terminal")
LONGEST_NAME = 40


@dataclass(frozen=True)
class Door:
    """How one more phone comes in: with which rights, by which code."""

    word: str
    may: str
    code: str
    picture: Markup


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
    """The QR codes for the next phone: those with no more rights than the one that shows them."""
    settings = request.app.state.settings
    doors = []
    if settings.pairing:
        doors = [
            Door(role.word, said(role.may), code, _picture(f"{settings.address}pair/{code}"))
            for role, code in codes(settings).items()
            if may(request, role)
        ]
    return page(
        request,
        "let_in.html",
        title=gettext("Let another phone in"),
        doors=doors,
        address=settings.address,
        fingerprint=settings.fingerprint,
        person=request.state.person,
    )


def _picture(address: str) -> Markup:
    made = segno.make(address, error="m")
    return Markup(made.svg_inline(scale=6, border=4, dark="#000", light="#fff", svgclass="qr"))


async def name(request: Request) -> Response:
    """Who holds this phone; it stands beside what is changed with it."""
    form = await read_form(request)
    request.session["person"] = form.text("person", LONGEST_NAME)
    return RedirectResponse("/let-in", status_code=303)


def _paired(request: Request, code: str) -> Response:
    role: Role | None = role_of(code, request.app.state.settings)
    if role is None:
        return refusal_page(request, WRONG)
    person = request.session.get("person", "")
    request.session.clear()  # a session from before the code is worth nothing
    request.session.update(role=int(role), person=person, token=fresh_token())
    return RedirectResponse("/", status_code=303)


ROUTES = [
    Route("/pair", ask, methods=["GET"]),
    Route("/pair", typed, methods=["POST"]),
    Route("/let-in", let_in, methods=["GET"]),
    Route("/me", name, methods=["POST"]),
    Route("/pair/{code}", scanned, methods=["GET"]),
]
