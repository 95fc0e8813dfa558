"""Templates to pages: what every page knows, and how numbers and verdicts are put into words."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from reader.catalogue.columns import CONDITIONS
from reader.catalogue.db.codes import pretty
from reader.fit.pressure import at_least, at_most
from reader.language import LANGUAGES, gettext, language, ngettext, number, said
from reader.markings import NOTATIONS
from reader.web import words
from reader.web.refusals import Refusal
from reader.web.rights import Role
from reader.web.security import masked
from reader.web.service import size_of

STATIC = Path(__file__).parent / "static"

TITLES = {notation.name: notation.title for notation in NOTATIONS}


@cache
def environment() -> Environment:
    """Jinja2 with everything escaped and no undefined name let through."""
    made = Environment(
        loader=PackageLoader("reader.web", "templates"),
        extensions=["jinja2.ext.i18n"],
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.install_gettext_callables(gettext, ngettext, newstyle=True)  # type: ignore[attr-defined]
    made.filters.update(
        percent=words.percent,
        mm=words.mm,
        size=words.size_text,
        said=said,
        number=number,
        at_most=lambda kpa: words.pressures(at_most(kpa)),
        at_least=lambda kpa: words.pressures(at_least(kpa)),
        sentence=words.sentence,
        code=pretty,
    )
    made.globals.update(
        sections=words.SECTIONS,
        asset=asset,
        kinds=words.KINDS,
        notations=TITLES,
        judged=words.judged,
        trusted=words.trusted,
        verdict_word=words.verdict_word,
        language=language,
        languages=LANGUAGES,
        script_words=words.script_words,
        size_of=size_of,
        conditions=CONDITIONS,
    )
    return made


@cache
def asset(name: str) -> str:
    """Address of a file in `static/`, with its content's mark, so that it may be kept for ever."""
    mark = hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:10]
    return f"/static/{name}?v={mark}"


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Render one page."""
    text = (
        environment()
        .get_template(template)
        .render(
            path=request.url.path,
            token=masked(getattr(request.state, "token", "")),
            **{"role": getattr(request.state, "role", Role.READER), **values},
        )
    )
    return HTMLResponse(text, status_code=status)


def wants_json(request: Request) -> bool:
    """Whether a program or our own script asks, not a person's browser."""
    accept = request.headers.get("accept", "")
    return request.url.path.startswith("/api/") or accept.startswith("application/json")


def refusal_page(request: Request, refusal: Refusal) -> Response:
    """What is wrong and what to do next, as a page or as JSON."""
    headers = {"retry-after": "5"} if refusal.status in (429, 503) else {}
    if wants_json(request):
        body = {"error": refusal.message, "remedy": refusal.remedy}
        if not request.url.path.startswith("/api/"):
            body = {name: said(text) for name, text in body.items()}
        return JSONResponse(body, refusal.status, headers)
    answer = page(
        request,
        "refusal.html",
        refusal.status,
        message=refusal.message,
        remedy=refusal.remedy,
        title=words.sentence(said(refusal.message)),
    )
    answer.headers.update(headers)
    return answer
