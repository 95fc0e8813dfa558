"""Who may come in: host names, sessions, pairing, the forms' token, and how often.

All of it is ASGI middleware, so that no page can forget it. Starlette's session middleware runs
before it and keeps the session signed in a cookie; nothing is stored on the server.
"""

from __future__ import annotations

import base64
import hmac
import secrets
import time
from collections import OrderedDict
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from reader.web.refusals import Refusal, Refuse
from reader.web.rights import (
    SAFE_METHODS,
    Role,
    known_role,
    needed,
    role_of,
    too_little,
)
from reader.web.settings import PageSettings

COOKIE = "bench"
SESSION_SECONDS = 14 * 24 * 3600
SLOW_DOWN = Refusal(429, "too fast", "wait a little, then go on")


class Buckets:
    """A token bucket for each address; the least recently seen are forgotten first."""

    def __init__(self, refill: float, burst: float, most: int = 4096) -> None:
        self._refill, self._burst, self._most = refill, burst, most
        self._levels: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def allow(self, key: str, now: float) -> bool:
        """Take one token, if there is one."""
        level = self._level(key, now)
        self._levels.pop(key, None)
        self._levels[key] = (level - 1 if level >= 1 else level, now)
        while len(self._levels) > self._most:
            self._levels.popitem(last=False)
        return level >= 1

    def empty(self, key: str, now: float) -> bool:
        """Whether there is no token left; takes none."""
        return self._level(key, now) < 1

    def _level(self, key: str, now: float) -> float:
        level, then = self._levels.get(key, (self._burst, now))
        return min(self._burst, level + (now - then) * self._refill)


class Guard:
    """Checks host, pace, origin, session and, for programs, the code; then lets the request in.

    Sets `request.state.token`, `.role`, `.person` and `.trusted` (a POST that needs no form token,
    since it came with a code, or with the token as a header).
    """

    def __init__(self, app: ASGIApp, settings: PageSettings, refuse: Refuse) -> None:
        self._app, self._settings, self._refuse = app, settings, refuse
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
            answer = self._admit(request)
        except Refusal as refusal:
            answer = self._refuse(request, refusal)
        await (answer or self._app)(scope, receive, send)

    def _admit(self, request: Request) -> Response | None:
        request.state.token, request.state.trusted = "", False
        request.state.person, request.state.role = "", Role.READER
        self._check_host(request.headers)
        self._check_pace(request)
        if request.method not in SAFE_METHODS:
            check_origin(request.headers)
        role = self._role_by_code(request)
        if role is not None:
            request.state.trusted, request.state.role = True, role
            self._check_right(request)
            return None
        return self._check_session(request)

    def _check_right(self, request: Request) -> None:
        least = needed(request.method, request.url.path)
        if request.state.role < least and not is_open(request.url.path):
            raise too_little(least)

    def _check_host(self, headers: Headers) -> None:
        name = urlsplit(f"//{headers.get('host', '')}").hostname or ""
        if name.rstrip(".") not in self._settings.hosts:
            raise Refusal(
                421, "this server goes by another name", "use the address shown in the terminal"
            )

    def _check_pace(self, request: Request) -> None:
        path, kind = request.url.path, "page"
        if is_pairing(path) and (request.method not in SAFE_METHODS or path != "/pair"):
            kind = "pair"
        elif request.method not in SAFE_METHODS and not path.startswith(("/outbox/", "/live/")):
            kind = "upload"
        if not self._paces[kind].allow(address_of(request), self._now()):
            raise SLOW_DOWN

    def _now(self) -> float:
        return (self._settings.now or time.monotonic)()

    def _check_session(self, request: Request) -> Response | None:
        path = request.url.path
        session = request.session
        role = known_role(session.get("role")) if self._settings.pairing else Role.KEEPER
        if role is None and not is_open(path):
            asked = request.headers.get("accept", "").startswith("application/json")
            if asked or path.startswith("/api/") or request.method not in SAFE_METHODS:
                raise Refusal(401, "not paired", "scan the QR code shown in the terminal")
            return RedirectResponse("/pair", status_code=303)
        if "token" not in session and not path.startswith(("/static/", "/api/")):
            session["token"] = fresh_token()
        request.state.token = session.get("token", "")
        sent = request.headers.get("x-form-token", "")
        request.state.trusted = same_token(sent, request.state.token)
        request.state.role = role or Role.READER
        request.state.person = str(session.get("person", ""))
        if path.startswith("/api/") and request.method not in SAFE_METHODS:
            self._check_api(request)
        self._check_right(request)
        return None

    def _check_api(self, request: Request) -> None:
        if not request.state.trusted:
            raise Refusal(
                401, "no right to change anything", "send the code as 'Authorization: Bearer CODE'"
            )

    def _role_by_code(self, request: Request) -> Role | None:
        """The role by the code that a program shows; guesses count as in the pairing form."""
        kind, _, code = request.headers.get("authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        guesses, address = self._paces["pair"], address_of(request)
        if guesses.empty(address, self._now()):
            raise SLOW_DOWN
        role = role_of(code, self._settings)
        if role is None:
            guesses.allow(address, self._now())
        return role


def is_pairing(path: str) -> bool:
    """Whether the path is the pairing page, or that page with a scanned code."""
    return path == "/pair" or (path.startswith("/pair/") and "/" not in path[len("/pair/") :])


def is_open(path: str) -> bool:
    """Whether a stranger may ask for the path: pairing, and files that are alike for everybody."""
    return is_pairing(path) or path.startswith("/static/") or path in OPEN_FILES


OPEN_FILES = ("/manifest.webmanifest", "/offline.js", "/offline")


def address_of(request: Request) -> str:
    """The network address that the request comes from."""
    return request.client.host if request.client else "?"


def fresh_token() -> str:
    """A new token for the forms of one session."""
    return secrets.token_urlsafe(16)


def masked(token: str) -> str:
    """The token as it is sent: no two answers hold the same letters.

    A compressed answer tells by its length what it repeats; letters that change can't be guessed
    from many lengths (the attack named BREACH, of 2013).
    """
    pad = secrets.token_bytes(len(token))
    return base64.urlsafe_b64encode(pad + _mixed(pad, token.encode())).decode()


def same_token(sent: str, token: str) -> bool:
    """Whether a form carries its session's token, masked."""
    try:
        raw = base64.b64decode(sent.encode(), altchars=b"-_", validate=True)
    except ValueError:
        return False
    half = len(raw) // 2
    return bool(token) and hmac.compare_digest(_mixed(raw[:half], raw[half:]), token.encode())


def _mixed(one: bytes, other: bytes) -> bytes:
    return bytes(a ^ b for a, b in zip(one, other, strict=False))


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
