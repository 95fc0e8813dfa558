"""The visitor's language for each request: as chosen on the page, else as the phone asks for."""

from __future__ import annotations

from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

from reader.language import use, wanted


class Speaking:
    """Sets the language that the request is answered in; runs inside the session middleware."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on, in that language."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        asked = HTTPConnection(scope)
        chosen = asked.session.get("language") or wanted(asked.headers.get("accept-language", ""))
        with use(chosen):
            await self._app(scope, receive, send)
