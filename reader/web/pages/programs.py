"""For programs: the API's jobs as a page, made from its OpenAPI document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.language import gettext
from reader.web.render import page


@dataclass(frozen=True)
class Job:
    """One thing that a program can ask for."""

    method: str
    path: str
    summary: str
    fields: tuple[tuple[str, str], ...]  # name, where and whether needed


def jobs(document: Mapping[str, Any]) -> Iterator[Job]:
    """All jobs of an OpenAPI document, in its order."""
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            yield Job(
                method.upper(),
                f"/api{path}",
                told.get("description", told.get("summary", "")),
                tuple(fields(told, document)),
            )


def fields(told: Mapping[str, Any], document: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Parameters and body fields of one job."""
    for one in told.get("parameters", ()):
        yield one["name"], f"{one['in']}{', needed' if one.get('required') else ''}"
    for kind, body in told.get("requestBody", {}).get("content", {}).items():
        schema = body["schema"]
        if "$ref" in schema:
            schema = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
        needed = schema.get("required", ())
        for name in schema.get("properties", {}):
            yield name, f"{kind}{', needed' if name in needed else ''}"


def show(request: Request) -> Response:
    """The page."""
    document = request.app.state.programs.openapi()
    address = f"{request.url.scheme}://{request.headers.get('host', '')}"
    return page(
        request,
        "programs.html",
        title=gettext("For programs"),
        jobs=list(jobs(document)),
        address=address,
    )


ROUTES = [Route("/programs", show, methods=["GET"])]
