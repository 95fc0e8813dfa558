"""Templates to pages: what every page knows, and how numbers and verdicts are put into words."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from reader import report
from reader.catalogue.columns import CONDITIONS
from reader.catalogue.db.codes import pretty
from reader.fit.pressure import at_least, at_most
from reader.markings import NOTATIONS
from reader.records import Reading, Size, Verdict
from reader.web.refusals import Refusal

STATIC = Path(__file__).parent / "static"

SECTIONS = (
    ("/", "Snap"),
    ("/fit", "Fit"),
    ("/bins", "Bins"),
    ("/review", "Review"),
    ("/names", "Names"),
)

VERDICTS = {
    Verdict.SURE: "Sure",
    Verdict.LIKELY: "Likely",
    Verdict.CANT_TELL: "Can't tell yet",
    Verdict.NONE: "No size found",
}

KINDS = {"tyre": "Tyre", "rim": "Rim", "tube": "Tube", "unknown": "Unsure"}

TITLES = {notation.name: notation.title for notation in NOTATIONS}


@cache
def environment() -> Environment:
    """Jinja2 with everything escaped and no undefined name let through."""
    made = Environment(
        loader=PackageLoader("reader.web", "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        percent=report.percent,
        mm=mm,
        size=size_text,
        at_most=at_most,
        at_least=at_least,
        sentence=sentence,
        code=pretty,
    )
    made.globals.update(
        sections=SECTIONS,
        asset=asset,
        kinds=KINDS,
        notations=TITLES,
        verdict_word=verdict_word,
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
            token=getattr(request.state, "token", ""),
            **values,
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
        return JSONResponse(body, refusal.status, headers)
    answer = page(
        request,
        "refusal.html",
        refusal.status,
        message=refusal.message,
        remedy=refusal.remedy,
        title=refusal.message.capitalize(),
    )
    answer.headers.update(headers)
    return answer


def sentence(text: str) -> str:
    """The text with a capital first letter, the rest as it is.

    >>> sentence("no ISO size"), sentence("")
    ('No ISO size', '')
    """
    return text[:1].upper() + text[1:]


def mm(value: float | None, digits: int = 0) -> str:
    """A length with its unit.

    >>> mm(37.5, 1), mm(622), mm(None)
    ('37.5 mm', '622 mm', 'unknown')
    """
    return "unknown" if value is None else f"{value:.{digits}f} mm"


def size_text(size: Size, part: str = "tyre") -> str:
    """A size as the standard writes it for the part.

    >>> size_text(Size(622, 28)), size_text(Size(622, 19), "rim"), size_text(Size(622))
    ('28-622', '622x19', '?-622')
    """
    if part == "rim":
        return f"{size.bsd}x{'?' if size.width is None else format(size.width, 'g')}"
    return str(size)


def verdict_word(reading: Reading | None) -> str:
    """The verdict in words."""
    return VERDICTS[reading.verdict] if reading is not None else VERDICTS[Verdict.NONE]
