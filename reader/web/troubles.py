"""What visitors and programs are told when something goes wrong; internals go to the log only."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from reader.errors import ExitCode, ReaderError
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
    return answer


HANDLERS: dict[Any, Callable[[Request, Exception], Response]] = {
    Refusal: refused,
    Busy: busy,
    ReaderError: mendable,
    HTTPException: http_error,
}
