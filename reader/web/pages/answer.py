"""The answer to one part, and everything that helps the reader to a better one."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reader.language import gettext, said
from reader.names.typed import parse
from reader.records import Judgement, Size, Verdict
from reader.tables import load_tables
from reader.web.pages.snap import to_part
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.render import page
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
    size_of,
    stock_of,
)
from reader.web.uploads import Form, read_form
from reader.web.words import fact_word, sentence, share_word, verdict_word
from reader.web.worker import Line, Picture, Source

HALF = 0.5  # of the belief: below it no size stands in large type


def show(request: Request) -> Response:
    """The answer, or how far reading is."""
    part = part_of(request)
    if part.state in ("waiting", "reading"):
        ahead = bench_of(request).ahead(part)
        return page(
            request, "reading.html", title=gettext("Reading"), part=part, ahead=ahead, then=""
        )
    if part.reading is None:
        return page(request, "unread.html", title=gettext("That could not be read"), part=part)
    return answered(request, part)


@dataclass(frozen=True)
class View:
    """The answer as its first screen shows it."""

    told: bool  # whether one diameter stands for the part
    bsd: int | None
    open: tuple[int, ...]  # diameters in question, when none is told
    width: str
    verdict: str
    colour: str
    share: str
    proof: Line | None  # the strip that shows it
    picture: Picture | None  # instead of a strip, where nothing is told
    facts: tuple[str, ...]
    hint: str  # the next photo that would help
    wheel: tuple[
        str, ...
    ] = ()  # where tyre and rim are both seen, or the visitor asks: are they right for each other


def view_of(part: Part, on_wheel: bool = False) -> View:
    """Put the reading, or the visitor's word, into words for the first screen."""
    assert part.reading is not None and part.outcome is not None
    reading, size = part.reading, size_of(part)
    told, asked = size is not None, reading.diameter
    open_ones = () if told else in_question(asked)
    bsd = size.bsd if size else None
    shown = bsd or (open_ones[0] if open_ones else None)
    proofs = [line for line in part.lines if line.picture]
    proof = next((line for line in proofs if shown in line.diameters), None)
    if proof is None and (told or open_ones) and proofs:
        proof = proofs[0]
    pictures = [picture for picture in part.pictures if picture.view]
    return View(
        told=told,
        bsd=bsd,
        open=open_ones,
        width=width_words(size, reading.width),
        verdict=verdict_word(asked.verdict),
        colour=asked.verdict.replace("'", "").replace(" ", "-"),
        share=share_word(asked),
        proof=proof,
        picture=pictures[0] if pictures and not (told or open_ones) else None,
        facts=tuple(dict.fromkeys(fact_word(fact) for fact in reading.facts)),
        hint="" if told else hint_of(reading.advice, asked=bool(open_ones)),
        wheel=part.outcome.wheel if on_wheel or part.outcome.wheel_seen else (),
    )


def hint_of(advice: tuple[str, ...], asked: bool) -> str:
    """The photo that would help; no question where the page asks one already."""
    sentences = re.split(r"(?<=[.?!]) ", next(iter(advice), ""))
    return " ".join(one for one in sentences if not (asked and one.endswith("?")))


def in_question(asked: Judgement[int]) -> tuple[int, ...]:
    """Diameters to choose from, the best at half of the belief or more; none below that."""
    if asked.value is None or asked.probability < HALF:
        return ()
    others = [value for value, share in asked.others if share >= LEAST]
    return (asked.value, *others)[:3]


def width_words(size: Size | None, asked: Judgement[float]) -> str:
    """The width in words: told, open between some, or not read."""
    known = size.width if size is not None else asked.value if asked.told else None
    if known is not None:
        return gettext("%(width)s mm wide") % {"width": f"{known:g}"}
    values = [asked.value, *(value for value, share in asked.others if share >= LEAST)]
    widths = [f"{value:g}" for value in values if value is not None]
    if len(widths) > 1:
        return gettext("width %(widths)s: look closer") % {"widths": " / ".join(widths[:3])}
    return gettext("width not read")


def answered(request: Request, part: Part, said: str = "", status: int = 200) -> Response:
    """The page of a part that was read; `said` is a word of the visitor's that is not clear yet."""
    assert part.reading is not None
    on_wheel = "wheel" in request.query_params
    view, size, kind = view_of(part, on_wheel), size_of(part), decided_kind(part)
    stock = stock_of(request)
    own = "rim" if kind == "rim" else "tyre"
    return page(
        request,
        "answer.html",
        status,
        title=str(size) if size else gettext("No size found"),
        said=said,
        options=parse(said, load_tables()).on(kind).meanings[:4] if said else [],
        view=view,
        part=part,
        reading=part.reading,
        best=part.reading.best,
        size=size,
        kind=kind,
        own=own,
        other="tyre" if own == "rim" else "rim",
        pair=bench_of(request).known(part.pair),
        candidates=offered(part),
        unsure=part.chosen is None and part.reading.verdict is not Verdict.SURE,
        stock=stock.find(part.stored) if part.stored else None,
    )


def early(request: Request) -> Response:
    """The first picture of a reading that is still under way."""
    part, name = part_of(request), request.path_params["name"]
    if part.running is None or name not in ("1-thumb.webp", "1-view.jpg"):
        raise GONE
    path = part.running / name
    if not path.exists():
        raise GONE
    return FileResponse(path)


def state(request: Request) -> Response:
    """How far reading is, for the script."""
    part = part_of(request)
    body = {
        "state": part.state,
        "step": sentence(said(part.step)),
        "share": round(part.share, 3),
        "ahead": bench_of(request).ahead(part),
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
    Route("/part/{part}/early/{name}", early, methods=["GET"]),
    Route("/part/{part}/picture/{name}", picture, methods=["GET"]),
    Route("/part/{part}/more", more, methods=["POST"]),
    Route("/part/{part}/again", again, methods=["POST"]),
    Route("/part/{part}/choose", say, methods=["POST"]),
]
