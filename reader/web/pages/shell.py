"""What the page is as an app on a phone: manifest, offline shell, and the language switch."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader.language import LANGUAGES, gettext
from reader.web.render import STATIC, asset, page


def manifest(request: Request) -> Response:
    """The app's manifest (W3C, Web Application Manifest)."""
    icon = {"src": asset("icon.svg"), "sizes": "any", "type": "image/svg+xml"}
    body = {
        "name": "tyremark",
        "short_name": "tyremark",
        "start_url": "/",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#191b1d",
        "icons": [icon],
    }
    return JSONResponse(body, media_type="application/manifest+json")


def worker(request: Request) -> Response:
    """The script that keeps the shell; at the root, as it serves all pages."""
    headers = {"cache-control": "no-cache"}
    return FileResponse(STATIC / "offline.js", media_type="text/javascript", headers=headers)


def offline(request: Request) -> Response:
    """The page that opens while the server is away; it holds nothing of anybody."""
    return page(request, "offline.html", title=gettext("The server is away"))


def language(request: Request) -> Response:
    """Speak another language to this visitor from now on."""
    to, back = request.query_params.get("to", ""), request.query_params.get("back", "/")
    if to in LANGUAGES:
        request.session["language"] = to
    inside = back.startswith("/") and not back.startswith(("//", "/\\"))
    return RedirectResponse(back if inside else "/", status_code=303)


ROUTES = [
    Route("/manifest.webmanifest", manifest, methods=["GET"]),
    Route("/offline.js", worker, methods=["GET"]),
    Route("/offline", offline, methods=["GET"]),
    Route("/language", language, methods=["GET"]),
]
