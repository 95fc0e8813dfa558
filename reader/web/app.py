"""The whole server as one ASGI app."""

from __future__ import annotations

import contextlib
import logging
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from reader.errors import ExitCode, ReaderError
from reader.web import api
from reader.web.gate import Gate, Keys, SafeHeaders
from reader.web.pages import answer, bins, fit, names, pair, review, snap
from reader.web.parts import Bench
from reader.web.readers import Busy, Readers
from reader.web.refusals import Refusal
from reader.web.render import STATIC, refusal_page
from reader.web.settings import PageSettings
from reader.web.shelf import Shelf
from reader.web.uploads import Ledger

log = logging.getLogger(__name__)


def build(settings: PageSettings) -> Starlette:
    """Make the app; reading processes start with it and end with it.

    Args:
        settings: who may come in, where the catalogue is, how much is allowed.

    Raises:
        CatalogueError: the catalogue can't be opened.
    """
    shelf, keys = Shelf(settings.catalogue, settings.photos), Keys()

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        limits = settings.limits
        readers = Readers(
            settings.work, settings.workers, settings.waiting, limits.reading_seconds
        )
        app.state.bench = Bench(readers, limits)
        try:
            yield
        finally:
            app.state.bench.close()
            shelf.close()

    app = Starlette(
        routes=_routes(settings, shelf),
        lifespan=lifespan,
        middleware=[
            Middleware(SafeHeaders),
            Middleware(Gate, settings=settings, keys=keys, refuse=refusal_page),
        ],
        exception_handlers={
            Refusal: _refused,
            Busy: _busy,
            ReaderError: _mendable,
            HTTPException: _http_error,
            Exception: _unforeseen,
        },
    )
    app.state.settings, app.state.shelf, app.state.keys = settings, shelf, keys
    app.state.ledger = Ledger(settings.limits.held_bytes)
    return app


def _routes(settings: PageSettings, shelf: Shelf) -> list[BaseRoute]:
    pages = (snap, answer, fit, bins, review, names, pair)
    return [
        *(route for module in pages for route in module.ROUTES),
        Mount("/static", KeptFiles(directory=STATIC)),
        Mount("/api", api.build(settings, shelf)),
    ]


class KeptFiles(StaticFiles):
    """Static files that a browser may keep: their address changes with their content."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, with a long life if it was asked for by its mark."""
        answer = await super().get_response(path, scope)
        if scope.get("query_string") and answer.status_code == 200:
            answer.headers["cache-control"] = "public, max-age=31536000, immutable"
        else:
            answer.headers["cache-control"] = "no-cache"
        return answer


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refusal)
    return refusal_page(request, error)


def _busy(request: Request, error: Exception) -> Response:
    remedy = "wait half a minute and send it again"
    return refusal_page(request, Refusal(503, "many photos are waiting already", remedy))


def _mendable(request: Request, error: Exception) -> Response:
    assert isinstance(error, ReaderError)
    if error.exit_code in (ExitCode.CATALOGUE, ExitCode.ENGINE):  # may name paths: for the log only
        log.error("%s", error)
        what = "catalogue" if error.exit_code == ExitCode.CATALOGUE else "reading engine"
        remedy = "look at the terminal of the server"
        return refusal_page(request, Refusal(503, f"the {what} gives trouble", remedy))
    return refusal_page(request, Refusal(422, error.message, error.remedy))


def _http_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {
        404: ("there is no such page", "go back to the start"),
        405: ("that can't be done here", "go back to the start"),
    }
    message, remedy = words.get(error.status_code, ("that did not work", "go back to the start"))
    answer = refusal_page(request, Refusal(error.status_code, message, remedy))
    answer.headers.update(error.headers or {})
    return answer


def _unforeseen(request: Request, error: Exception) -> Response:
    log.exception("a page failed", exc_info=error)
    return refusal_page(request, Refusal(500, "something went wrong here", "try once more"))
