"""What visitors and programs are told when something goes wrong; internals go to the log only."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Match

from reader.errors import ExitCode, ReaderError, UnknownCodeError
from reader.web.readers import Busy
from reader.web.refusals import Refusal
from reader.web.render import refusal_page

log = logging.getLogger(__name__)


def refused(request: Request, error: Exception) -> Response:
    """Turned down on purpose."""
    assert isinstance(error, Refusal)
    return refusal_page(request, error)


def busy(request: Request, error: Exception) -> Response:
    """The queue is full."""
    remedy = "wait half a minute and send it again"
    return refusal_page(request, Refusal(503, "many photos are waiting already", remedy))


def mendable(request: Request, error: Exception) -> Response:
    """Something the visitor can mend, or, where the text may name paths, only the owner."""
    assert isinstance(error, ReaderError)
    if isinstance(error, UnknownCodeError):
        return refusal_page(request, Refusal(404, error.message, "look it up in the bins"))
    owners = {ExitCode.CATALOGUE: "catalogue", ExitCode.ENGINE: "reading engine"}
    if error.exit_code in owners:
        log.error("%s", error)
        what = f"the {owners[error.exit_code]} gives trouble"
        return refusal_page(request, Refusal(503, what, "look at the terminal of the server"))
    return refusal_page(request, Refusal(422, error.message, error.remedy))


def http_error(request: Request, error: Exception) -> Response:
    """No such page, wrong method and the like."""
    assert isinstance(error, HTTPException)
    words = {404: "there is no such page", 405: "that can't be done here"}
    message = words.get(error.status_code, "that did not work")
    answer = refusal_page(request, Refusal(error.status_code, message, "go back to the start"))
    answer.headers.update(error.headers or {})
    if error.status_code == 405:
        answer.headers["allow"] = ", ".join(allowed(request))
    return answer


def allowed(request: Request) -> list[str]:
    """Every method that some route takes at this address; one route alone knows only its own."""
    fitting = [
        route
        for route in flat(request.app.router.routes)
        if route.matches(request.scope)[0] is not Match.NONE
    ]
    return sorted({method for r in fitting for method in getattr(r, "methods", None) or ()})


def flat(routes: Iterable[BaseRoute]) -> Iterator[BaseRoute]:
    """All routes, those of routers that FastAPI keeps as a whole among them."""
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is None:
            yield route
        else:
            yield from flat(inner.routes)


HANDLERS: dict[Any, Callable[[Request, Exception], Response]] = {
    Refusal: refused,
    Busy: busy,
    ReaderError: mendable,
    HTTPException: http_error,
}
