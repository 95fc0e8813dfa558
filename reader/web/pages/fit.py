"""Fit: does this tyre go on this rim; and, with one of the two, what goes with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reader.errors import InputError
from reader.fit.doubtful import ReadFit
from reader.fit.mount import Fit
from reader.fit.partners import Line, rims_for, tyres_for
from reader.fit.parts import Rim, RimKind, Tyre
from reader.fit.section import section
from reader.language import N_, gettext
from reader.names.meanings import other_names
from reader.records import Size
from reader.tables import load_tables
from reader.web.bench import Bench
from reader.web.drawing import Seat, seats_svg, section_svg
from reader.web.parts import Part
from reader.web.render import page
from reader.web.sides import (
    KINDS,
    Side,
    bench_part,
    on_bench,
    paired,
    rim_kind,
    rim_of,
    side,
    tyre_of,
)

EDGES = {
    "": N_("not known"),
    "C": N_("C, crochet (hooked)"),
    "TC": N_("TC, tubeless crochet"),
    "SS": N_("SS, straight side"),
    "TSS": N_("TSS, tubeless straight side (hookless)"),
    "HB": N_("HB, beaded edge"),
    "TUBULAR": N_("for glued tyres (tubular)"),
}
GOES_WITH = ("tubeless", "hookless", "folding", "tyre_min", "tyre_max", "rim_max", "edge", "use",
             "rim_allows", "tyre_allows")  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """What the page shows: one fit, perhaps with the doubt of a reading, or lists."""

    fit: Fit | None = None
    read: ReadFit | None = None
    lines: tuple[Line, ...] = ()
    section: Markup | None = None
    ruler: Markup | None = None


def show(request: Request) -> Response:
    """The form, and the answer to what the address asks."""
    query = {name: value[:80] for name, value in request.query_params.items()}
    bench, market = request.app.state.bench, request.app.state.settings.market
    unread = next((p for p in parts_named(query, bench) if not p.ended.is_set()), None)
    if unread is not None:  # two shots, one verdict: the address asks again when both are read
        then = f"{request.url.path}?{request.url.query}"
        title = gettext("Reading")
        return page(request, "reading.html", title=title, part=unread, ahead=0, then=then)
    sides: dict[str, Side] = {}
    trouble: InputError | None = None
    answer = Answer()
    try:
        for kind in KINDS:
            sides[kind] = side(kind, query, bench, market)
        answer = answered(sides["tyre"], sides["rim"], query)
    except InputError as error:
        trouble = error
    return page(
        request,
        "fit.html",
        422 if trouble else 200,
        title=gettext("Does it fit?"),
        query=query,
        sides=sides,
        bench={"tyre": on_bench(bench, "tyre"), "rim": on_bench(bench, "rim")},
        edges=EDGES,
        sources=load_tables().sources,
        trouble=trouble,
        answer=answer,
        more=any(query.get(name) for name in GOES_WITH),
    )


def parts_named(query: Mapping[str, str], bench: Bench) -> Iterator[Part]:
    """The bench parts that the address names."""
    for kind in KINDS:
        part = bench_part(query.get(f"{kind}_part", ""), bench)
        if part is not None:
            yield part


def answered(tyre: Side, rim: Side, query: dict[str, str]) -> Answer:
    """Grade the pair, or list what goes with the one side that is known.

    Raises:
        InputError: a size or pressure that makes no sense.
    """
    use = "off-road" if query.get("use") == "off-road" else "road"
    tables = load_tables()
    if tyre.given and rim.given:
        found, read = paired(tyre, rim, query, use)
        if found is None:
            return Answer(read=read)
        one, other = found.tyre, found.rim
        return Answer(found, read, (), drawn(one, other), ruler_of(one.size, other.size))
    lines: tuple[Line, ...] = ()
    known = tyre.meant or rim.meant
    if rim.meant is not None and not tyre.options and rim.meant.size.width is not None:
        lines = tyres_for(rim_of(rim.meant, query), tables, use).lines
    elif tyre.meant is not None and not rim.options and tyre.meant.size.width is not None:
        kind = rim_kind(query, None) or RimKind.CROCHET
        lines = rims_for(tyre_of(tyre.meant, query), tables, kind, use).lines
    ruler = ruler_of(known.size) if known else None
    return Answer(lines=lines, ruler=ruler)


def drawn(tyre: Tyre, rim: Rim) -> Markup | None:
    """The section to scale, where the diameters agree and both widths are known."""
    width, inner = tyre.size.width, rim.size.width
    if tyre.size.bsd != rim.size.bsd or width is None or inner is None or inner > 2 * width:
        return None
    return section_svg(section(tyre.size, inner), width, rim.kind)


def ruler_of(size: Size, other: Size | None = None) -> Markup:
    """The bead seats around a size, with the best-known name of each."""
    tables = load_tables()
    seats = []
    for seat in tables.seats:
        names = other_names(Size(seat.bsd), tables)
        seats.append(Seat(seat.bsd, short_name(names)))
    return seats_svg(size.bsd, seats, other.bsd if other and other.bsd != size.bsd else None)


def short_name(names: tuple[str, ...]) -> str:
    """One name for a narrow place: a single size rather than a range.

    >>> short_name(("26 x 1 to 5", "26 x 1.5")), short_name(("26 x 1 to 5",)), short_name(())
    ('26 x 1.5', '26 inch', '')
    """
    single = [name for name in names if " to " not in name]
    if single:
        return min(single, key=len)
    return f"{names[0].partition(' x ')[0]} inch" if names else ""


ROUTES = [Route("/fit", show, methods=["GET"])]
