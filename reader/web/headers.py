"""Headers that make a browser strict, on every answer, also on those for faults of ours."""

from __future__ import annotations

import logging

from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from reader.web.refusals import Refusal, Refuse

log = logging.getLogger(__name__)

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "manifest-src 'self'; worker-src 'self'; media-src 'self' blob:; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
}


class SafeHeaders:
    """Adds the security headers to every answer, also to those for faults of ours."""

    def __init__(self, app: ASGIApp, refuse: Refuse) -> None:
        self._app, self._refuse = app, refuse
        self._headers = [(name.encode(), value.encode()) for name, value in HEADERS.items()]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on, with headers."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = False

        async def with_headers(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                message["headers"] = self._completed(list(message.get("headers", [])))
            await send(message)

        try:
            await self._app(scope, receive, with_headers)
        except Exception:
            log.exception("a page failed")
            if begun:
                raise
            fault = Refusal(500, "something went wrong here", "try once more")
            await self._refuse(Request(scope), fault)(scope, receive, with_headers)

    def _completed(self, headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
        if not any(name.lower() == b"cache-control" for name, _ in headers):
            headers.append((b"cache-control", b"no-store"))
        return headers + self._headers
