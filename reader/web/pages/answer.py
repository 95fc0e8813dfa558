"""The answer to one part, and everything that helps the reader to a better one."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader.names.typed import parse
from reader.records import Verdict
from reader.tables import load_tables
from reader.web.pages.snap import to_part
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.render import page, size_text
from reader.web.service import (
    GONE,
    LEAST,
    UNREAD,
    bench_of,
    choose,
    decided_kind,
    kind_of,
    offered,
    part_of,
    picked,
    stock_of,
)
from reader.web.uploads import Form, read_form
from reader.web.worker import Source


def show(request: Request) -> Response:
    """The answer, or how far reading is."""
    part = part_of(request)
    if part.state in ("waiting", "reading"):
        ahead = bench_of(request).waiting
        return page(request, "reading.html", title="Reading", part=part, ahead=ahead)
    if part.reading is None:
        return page(request, "unread.html", title="Not read", part=part)
    return answered(request, part)


def answered(request: Request, part: Part, said: str = "", status: int = 200) -> Response:
    """The page of a part that was read; `said` is a word of the visitor's that is not clear yet."""
    assert part.reading is not None
    best = part.reading.best
    size = part.chosen or (best.size if best else None)
    return page(
        request,
        "answer.html",
        status,
        title=str(size) if size else "No size found",
        said=said,
        options=parse(said, load_tables()).on(decided_kind(part)).meanings[:4] if said else [],
        open=left_open(part),
        seat_share=seat_share(part),
        part=part,
        reading=part.reading,
        best=best,
        size=size,
        kind=decided_kind(part),
        pair=bench_of(request).known(part.pair),
        candidates=offered(part),
        unsure=part.chosen is None and part.reading.verdict is not Verdict.SURE,
        bins=stock_of(request).bins(),
    )


def left_open(part: Part) -> list[str]:
    """What is still in question when the markings don't settle it: diameters, else whole sizes."""
    if part.chosen or part.reading is None or part.reading.verdict is not Verdict.CANT_TELL:
        return []
    open_ones = [one for one in offered(part) if one.probability >= LEAST]
    seats = list(dict.fromkeys(str(one.size.bsd) for one in open_ones))
    if len(seats) > 1:
        return seats[:3]
    return list(dict.fromkeys(size_text(one.size, one.part) for one in open_ones))[:3]


def seat_share(part: Part) -> float:
    """Belief in the best candidate's bead seat diameter, whatever the width, 0..1."""
    found = part.reading.candidates if part.reading else ()
    return sum(one.probability for one in found if one.size.bsd == found[0].size.bsd)


def state(request: Request) -> Response:
    """How far reading is, for the script."""
    part = part_of(request)
    body = {
        "state": part.state,
        "step": part.step,
        "share": round(part.share, 3),
        "ahead": bench_of(request).waiting,
    }
    return JSONResponse(body)


def picture(request: Request) -> Response:
    """One of the part's own pictures."""
    part = part_of(request)
    try:
        path = bench_of(request).picture(part, request.path_params["name"])
    except KeyError as error:
        raise GONE from error
    kept = {"cache-control": "private, max-age=3600"}
    return FileResponse(path, headers=kept)


async def more(request: Request) -> Response:
    """Further photos of the same part: all are read together."""
    part, form = part_of(request), await read_form(request)
    if not form.files:
        raise Refusal(400, "no photo came", "choose a photo first")
    bench = bench_of(request)
    sources = [*bench.again(part), *bench.bring(part, form.files)]
    return await read_again(request, part, sources, form)


async def again(request: Request) -> Response:
    """Read again with what the visitor says: the kind of part, a turn, a box."""
    part, form = part_of(request), await read_form(request)
    sources = bench_of(request).again(part)
    number = form.text("photo", 3)
    index = int(number) - 1 if number.isdigit() else 0
    if not 0 <= index < len(sources):
        raise Refusal(400, "there is no such photo", "choose one of the photos shown")
    sources[index] = helped(sources[index], form)
    return await read_again(request, part, sources, form)


async def read_again(request: Request, part: Part, sources: list[Source], form: Form) -> Response:
    """Put the part into the queue once more; the visitor's own word on the size falls away."""
    limits = request.app.state.settings.limits
    if not part.ended.is_set():
        raise Refusal(409, "this part is being read", "wait for the answer first")
    if len(sources) > limits.photos:
        raise Refusal(413, "too many photos of one part", f"send {limits.photos} at most")
    if form.text("kind"):
        part.kind = kind_of(form.text("kind"))
    bench_of(request).read(part, sources)
    choose(part, None, "")
    return await to_part(request, part)


def helped(source: Source, form: Form) -> Source:
    """The source with the turn and the box of the form; both may be absent."""
    turn = form.text("turn", 1)
    values = [form.text(name, 12) for name in ("left", "top", "width", "height")]
    return replace(
        source,
        turn=int(turn) if turn in ("1", "2", "3") else 0,
        box=box_of(values) if any(values) and not turn else None,
    )


def box_of(percents: list[str]) -> tuple[float, float, float, float] | None:
    """Left, top, width, height in percent of the picture, as shares; None for the whole picture.

    Raises:
        Refusal: not four numbers, or outside the picture.
    """
    try:
        left, top, width, height = (float(value) / 100 for value in percents)
    except ValueError as error:
        raise Refusal(
            422, "the box needs four numbers", "give left, top, width and height in percent"
        ) from error
    if not (0 <= left < 1 and 0 <= top < 1 and width > 0.005 and height > 0.005):
        raise Refusal(422, "the box lies outside the photo", "use percent from 0 to 100")
    if width >= 1 and height >= 1:
        return None
    return left, top, min(width, 1 - left), min(height, 1 - top)


async def say(request: Request) -> Response:
    """The visitor's own word on the size: tapped, or typed."""
    part, form = part_of(request), await read_form(request)
    if part.reading is None:
        raise UNREAD
    text = form.text("size", 60)
    if text and len(parse(text, load_tables()).likely(decided_kind(part))) > 1:
        return answered(request, part, said=text, status=422)
    choose(part, *picked(part, form))
    return RedirectResponse(f"/part/{part.id}", status_code=303)


ROUTES = [
    Route("/part/{part}", show, methods=["GET"]),
    Route("/part/{part}/state", state, methods=["GET"]),
    Route("/part/{part}/picture/{name}", picture, methods=["GET"]),
    Route("/part/{part}/more", more, methods=["POST"]),
    Route("/part/{part}/again", again, methods=["POST"]),
    Route("/part/{part}/choose", say, methods=["POST"]),
]
