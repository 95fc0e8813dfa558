"""The whole server as one ASGI app: pages, the API, static files, and who may come in."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.sessions import SessionMiddleware
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Scope

from reader.web import api
from reader.web.bench import Bench
from reader.web.compressed import Compressed
from reader.web.failures import HANDLERS
from reader.web.headers import SafeHeaders
from reader.web.incoming import Incoming
from reader.web.live import Live
from reader.web.pages import (
    answer,
    bins,
    clearance,
    doubles,
    fit,
    labels,
    live,
    names,
    outbox,
    pair,
    pairs,
    programs,
    review,
    shell,
    slip,
    snap,
    tally,
    wheel,
)
from reader.web.readers import Readers
from reader.web.render import STATIC, refusal_page
from reader.web.security import COOKIE, SESSION_SECONDS, Guard
from reader.web.settings import PageSettings
from reader.web.speaking import Speaking
from reader.web.state import Folder
from reader.web.stock import Stock
from reader.web.uploads import Ledger


def build(settings: PageSettings) -> Starlette:
    """Make the app; reading processes start with it and end with it.

    Args:
        settings: who may come in, where the catalogue is, how much is allowed.

    Raises:
        CatalogueError: the catalogue can't be opened.
    """
    stock, folder = Stock(settings.catalogue, settings.photos), Folder(settings.folder)

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        limits = settings.limits
        readers = Readers(settings.work, settings.workers, settings.waiting, limits.reading_seconds)
        app.state.incoming = Incoming(folder.part("incoming"), limits)
        app.state.live = Live()
        app.state.bench = Bench(readers, limits, folder.part("parts"))
        try:
            yield
        finally:
            app.state.live.close()
            app.state.bench.close()
            stock.close()
            folder.close()

    json = api.build()
    app = Starlette(
        routes=_routes(json),
        lifespan=lifespan,
        middleware=[
            Middleware(Compressed),
            Middleware(SafeHeaders, refuse=refusal_page),
            Middleware(
                SessionMiddleware,
                secret_key=folder.secret(anew=settings.unpair),
                session_cookie=COOKIE,
                max_age=SESSION_SECONDS,
                https_only=settings.secure,
            ),
            Middleware(Speaking),
            Middleware(Guard, settings=settings, refuse=refusal_page),
        ],
        exception_handlers=HANDLERS,
    )
    app.state.settings, app.state.stock = settings, stock
    json.state = app.state
    app.state.programs = json
    app.state.ledger = Ledger(settings.limits.held_bytes)
    return app


def _routes(json: ASGIApp) -> list[BaseRoute]:
    shelves = (bins, doubles, labels, pairs, review, tally)
    sizes = (fit, wheel, slip, clearance, names)
    pages = (shell, live, snap, outbox, answer, *sizes, *shelves, pair, programs)
    return [
        *(route for module in pages for route in module.ROUTES),
        Mount("/static", KeptFiles(directory=STATIC)),
        Mount("/api", json),
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
