"""Answers compressed for the way to the phone, where that gives nothing away.

Over HTTPS the length of a compressed answer can tell what in it equals something that a stranger
made it repeat (BREACH). The secret that nearly every page holds, the form's token, is therefore
masked anew each time (`security.masked`); the page that shows the pairing code goes out as it is.
"""

from __future__ import annotations

from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Receive, Scope, Send

PLAIN = ("/let-in", "/pair")  # with what is below them: here stands the code


class Compressed(GZipMiddleware):
    """Compresses all but pictures and the pages of the pairing code."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on, compressed or plain."""
        plain = scope["type"] == "http" and f"{scope['path']}/".startswith(
            tuple(f"{path}/" for path in PLAIN)
        )
        if plain:
            await self.app(scope, receive, send)
        else:
            await super().__call__(scope, receive, send)
