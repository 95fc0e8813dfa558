"""Who may come in: host names, sessions, pairing, the forms' token, and how often.

All of it is ASGI middleware, so that no page can forget it. Sessions are signed and need no store.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import time
from collections import OrderedDict
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from reader.web.refusals import Refusal, Refuse
from reader.web.settings import PageSettings

COOKIE = "bench"
SESSION_SECONDS = 14 * 24 * 3600
OPEN_PATHS = ("/pair", "/static/")
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


class Keys:
    """Signs sessions and forms with a secret that lives as long as the server."""

    def __init__(self) -> None:
        self._secret = secrets.token_bytes(32)

    def _sign(self, purpose: str, text: str) -> str:
        digest = hmac.new(self._secret, f"{purpose}:{text}".encode(), hashlib.sha256).digest()
        return base64.urlsafe_b64encode(digest).decode().rstrip("=")

    def session(self) -> str:
        """A new session's cookie value."""
        body = f"{secrets.token_urlsafe(16)}.{int(time.time())}"
        return f"{body}.{self._sign('session', body)}"

    def is_session(self, value: str) -> bool:
        """Whether the cookie is one of ours and not too old."""
        body, _, signature = value.rpartition(".")
        born = body.rpartition(".")[2]
        return (
            hmac.compare_digest(signature.encode(), self._sign("session", body).encode())
            and born.isdigit()
            and time.time() - int(born) < SESSION_SECONDS
        )

    def token(self, session: str) -> str:
        """The token that a form of this session must carry."""
        return self._sign("form", session)


class Buckets:
    """A token bucket for each address; the least recently seen are forgotten first."""

    def __init__(self, refill: float, burst: float, most: int = 4096) -> None:
        self._refill, self._burst, self._most = refill, burst, most
        self._levels: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def allow(self, key: str, now: float) -> bool:
        """Take one token, if there is one."""
        level, then = self._levels.pop(key, (self._burst, now))
        level = min(self._burst, level + (now - then) * self._refill)
        self._levels[key] = (level - 1 if level >= 1 else level, now)
        while len(self._levels) > self._most:
            self._levels.popitem(last=False)
        return level >= 1


class Gate:
    """Checks host, pace, origin, session and, for programs, the code; then lets the request in.

    Sets `request.state.session`, `.token` and `.trusted` (a POST that needs no form token, since
    it came with the code, or with the token as a header).
    """

    def __init__(self, app: ASGIApp, settings: PageSettings, keys: Keys, refuse: Refuse) -> None:
        self._app, self._settings, self._refuse = app, settings, refuse
        self.keys = keys
        limits = settings.limits
        self._paces = {
            "pair": Buckets(*limits.codes),
            "upload": Buckets(*limits.uploads),
            "page": Buckets(*limits.requests),
        }

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let in, send to the pairing page, or refuse."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope, receive, send)
        try:
            answer, cookie = self._admit(request)
        except Refusal as refusal:
            answer, cookie = self._refuse(request, refusal), ""
        if answer is not None:
            await answer(scope, receive, send)
            return
        await self._app(scope, receive, _with_cookie(send, cookie, scope) if cookie else send)

    def _admit(self, request: Request) -> tuple[Response | None, str]:
        request.state.session = request.state.token = ""
        request.state.trusted = False
        self._check_host(request.headers)
        self._check_pace(request)
        if request.method not in SAFE_METHODS:
            check_origin(request.headers)
        return self._check_session(request)

    def _check_host(self, headers: Headers) -> None:
        name = urlsplit(f"//{headers.get('host', '')}").hostname or ""
        if name.rstrip(".") not in self._settings.hosts:
            raise Refusal(
                421, "this server goes by another name", "use the address shown in the terminal"
            )

    def _check_pace(self, request: Request) -> None:
        path = request.url.path
        kind = "page"
        if request.method not in SAFE_METHODS or path.startswith("/pair/"):
            kind = "pair" if path.startswith("/pair") else "upload"
        now = (self._settings.now or time.monotonic)()
        address = request.client.host if request.client else "?"
        if not self._paces[kind].allow(address, now):
            raise Refusal(429, "too fast", "wait a little, then go on")

    def _check_session(self, request: Request) -> tuple[Response | None, str]:
        path = request.url.path
        session = request.cookies.get(COOKIE, "")
        fresh = ""
        if self._has_code(request):
            request.state.trusted = True
            return None, ""
        if not self.keys.is_session(session):
            if self._settings.pairing and not path.startswith(OPEN_PATHS):
                if path.startswith("/api/") or request.method not in SAFE_METHODS:
                    raise Refusal(401, "not paired", "scan the QR code shown in the terminal")
                return RedirectResponse("/pair", status_code=303), ""
            session = "" if self._settings.pairing else self.keys.session()
            fresh = session if not path.startswith(("/static/", "/api/")) else ""
        request.state.session, request.state.token = session, self.keys.token(session)
        sent = request.headers.get("x-form-token", "")
        request.state.trusted = hmac.compare_digest(sent.encode(), request.state.token.encode())
        if path.startswith("/api/") and request.method not in SAFE_METHODS:
            self._check_api(request)
        return None, fresh

    def _check_api(self, request: Request) -> None:
        if not request.state.trusted:
            raise Refusal(
                401, "no right to change anything", "send the code as 'Authorization: Bearer CODE'"
            )

    def _has_code(self, request: Request) -> bool:
        kind, _, code = request.headers.get("authorization", "").partition(" ")
        return kind.lower() == "bearer" and same_code(code, self._settings.code)


def same_code(given: str, code: str) -> bool:
    """Whether the pairing code is right; spaces, dashes and case don't count."""
    plain = given.replace(" ", "").replace("-", "").upper()
    return hmac.compare_digest(plain.encode(), code.replace("-", "").upper().encode())


def check_origin(headers: Headers) -> None:
    """Refuse a POST that another site's page sends.

    Raises:
        Refusal: the browser says that the request comes from elsewhere.
    """
    elsewhere = Refusal(403, "this came from another page", "use this server's own pages")
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        raise elsewhere
    origin = headers.get("origin")
    if origin is not None and urlsplit(origin).netloc != headers.get("host", ""):
        raise elsewhere


def cookie_header(session: str, secure: bool) -> bytes:
    """The session's cookie: out of reach for scripts, and not sent with other sites' forms.

    Lax, since Strict would lose it on the way in from a QR reader's own browser; nothing changes by
    GET.
    """
    end = "; Secure" if secure else ""
    return (
        f"{COOKIE}={session}; Path=/; Max-Age={SESSION_SECONDS}; HttpOnly; SameSite=Lax{end}"
    ).encode()


def _with_cookie(send: Send, session: str, scope: Scope) -> Send:
    async def wrapped(message: Message) -> None:
        if message["type"] == "http.response.start":
            line = (b"set-cookie", cookie_header(session, scope.get("scheme") == "https"))
            message["headers"] = [*message.get("headers", []), line]
        await send(message)

    return wrapped
