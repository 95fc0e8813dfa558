"""The same jobs for programs: JSON over HTTP, described by OpenAPI at /api/openapi.json."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Security
from fastapi.exceptions import RequestValidationError
from fastapi.security import HTTPBearer
from starlette.requests import Request
from starlette.responses import Response

from reader.web.api import counter, depot, fits, parts, sizes
from reader.web.api.forms import Trouble
from reader.web.failures import HANDLERS
from reader.web.refusals import Refusal
from reader.web.render import refusal_page

ABOUT = """Photos of tyres and rims in, ISO 5775 sizes out; fit, bins, review and tally.

Reading needs no right on a server that only its own computer can open. Everything that changes
something, and everything on a server in the network, needs a code: `Authorization: Bearer CODE`.
A reader's may look, a helper's add, a keeper's change; what is beyond it is answered with 403.
Troubles come as `{"error": ..., "remedy": ...}`."""

# Only for the document: who may come in is decided by `security.Guard`, before any route.
CODE = HTTPBearer(auto_error=False, description="the code shown in the server's terminal")

FAILURES: dict[int | str, dict[str, Any]] = {
    code: {"model": Trouble, "description": text}
    for code, text in {
        400: "the request is broken",
        401: "the code is missing or wrong",
        403: "the code's role may not do that",
        404: "there is no such thing",
        422: "a value makes no sense",
        429: "too fast",
        503: "busy, or the catalogue can't be reached",
    }.items()
}


def build() -> FastAPI:
    """The API as an app of its own; the page's app mounts it and gives it its state."""
    app = FastAPI(
        title="tyremark",
        version="1",
        description=ABOUT,
        docs_url=None,  # the ready-made documents load scripts from elsewhere
        redoc_url=None,
        responses=FAILURES,
        servers=[{"url": "/api"}],
        root_path_in_servers=False,
        redirect_slashes=False,
        dependencies=[Security(CODE)],
    )
    for kind, handler in {**HANDLERS, RequestValidationError: senseless}.items():
        app.add_exception_handler(kind, handler)
    for family in (sizes, fits, counter, parts, depot):
        app.include_router(family.ROUTER)
    return app


def senseless(request: Request, error: Exception) -> Response:
    """A parameter that is missing or of the wrong kind."""
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(step) for step in first["loc"][1:]) or "the request"
    message = f"{where[:60]}: {str(first['msg'])[:120].lower()}"
    return refusal_page(request, Refusal(422, message, "see /api/openapi.json"))
