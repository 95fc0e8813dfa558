"""What pages and API share: parts by address, photos coming in, a person's word, decisions."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from typing import get_args

from starlette.requests import Request

from reader import catalogue as store
from reader.names.synonyms import known_as
from reader.names.typed import parse
from reader.records import Candidate, PartKind, Size
from reader.tables import load_tables
from reader.web.bench import Bench
from reader.web.parts import Part
from reader.web.refusals import Refusal
from reader.web.stock import Entry, Stock
from reader.web.uploads import Form, read_form

GONE = Refusal(404, "this part is no longer on the bench", "snap it again, or look in the bins")
UNREAD = Refusal(409, "this part is not read yet", "wait for the answer first")
SHOWN = 3  # candidates offered
MOST_PIECES = 9999
LEAST = 0.05  # of the belief; what has less is not offered


def bench_of(request: Request) -> Bench:
    """The bench that the server keeps."""
    bench: Bench = request.app.state.bench
    return bench


def stock_of(request: Request) -> Stock:
    """The catalogue that the server has open."""
    stock: Stock = request.app.state.stock
    return stock


def part_of(request: Request) -> Part:
    """The part that the address names.

    Raises:
        Refusal: it is not on the bench.
    """
    try:
        return bench_of(request).get(request.path_params["part"])
    except KeyError as error:
        raise GONE from error


async def arrived(request: Request, remedy: str) -> tuple[Part, Form]:
    """The part whose photos the request brings, now waiting to be read, and the whole form.

    Raises:
        Refusal: no photo, or too many or too large ones; the queue is full.
    """
    form = await read_form(request)
    if not form.files:
        raise Refusal(400, "no photo came", remedy)
    bench = bench_of(request)
    part = bench.add(
        form.files,
        kind_of(form.text("kind")),
        request.app.state.settings.market,
        pair=bench.known(form.text("pair", 40)),
        owner=owner_of(request),
    )
    return part, form


def owner_of(request: Request) -> str:
    """A short mark of the visitor's session, to tell his parts from those of others."""
    token: str = request.state.token
    return hashlib.blake2b(token.encode(), digest_size=8).hexdigest() if token else ""


def kind_of(said: str) -> PartKind:
    """A kind of part from its name; 'unknown' for anything else."""
    kinds: tuple[PartKind, ...] = get_args(PartKind)
    return next((kind for kind in kinds if kind == said), "unknown")


def decided_kind(part: Part) -> PartKind:
    """Tyre, rim or tube: the visitor's word, else what the reading makes of it."""
    reading = part.reading
    if part.kind != "unknown" or reading is None:
        return part.kind
    if reading.part != "unknown" or reading.best is None:
        return reading.part
    return reading.best.part


def size_of(part: Part) -> Size | None:
    """What the part is: the visitor's word, else what is told of diameter and width; else None."""
    if part.chosen or part.reading is None:
        return part.chosen
    diameter, width = part.reading.diameter, part.reading.width
    if not diameter.told or diameter.value is None:
        return None
    return Size(diameter.value, width.value if width.told else None)


def offered(part: Part) -> list[Candidate]:
    """The candidates worth showing, most probable first; each size once."""
    found = part.reading.candidates if part.reading else ()
    sizes: dict[Size, Candidate] = {}
    for candidate in found:
        if candidate.probability >= LEAST:
            sizes.setdefault(candidate.size, candidate)
    return list(sizes.values())[:SHOWN]


def picked(part: Part, form: Form) -> tuple[Size | None, str]:
    """The size that the form means, and the rim's edge; None takes the visitor's word back.

    Raises:
        InputError: nothing that names one size.
    """
    if form.text("undo"):
        return None, ""
    choice, candidates = form.text("candidate", 3), offered(part)
    if choice.isdigit() and int(choice) < len(candidates):
        return candidates[int(choice)].size, ""
    return said_size(part, form.text("size", 60))


def said_size(part: Part, text: str) -> tuple[Size, str]:
    """The size, and a rim's edge, that a person types for a part that was read.

    Raises:
        Refusal: the part is not read yet.
        InputError: nothing that names one size.
    """
    if part.reading is None:
        raise UNREAD
    meant = parse(text, load_tables()).one(decided_kind(part))
    return meant.size, meant.edge


def choose(part: Part, size: Size | None, edge: str) -> None:
    """A person's word on the size of a part on the bench; None takes it back."""
    part.chosen, part.chosen_edge = size, edge
    part.write()


def put_away(stock: Stock, part: Part, entry: Entry) -> store.Part | None:
    """Bring a part from the bench into the catalogue, once.

    Returns:
        None, or, where the catalogue knows these photos already, the part they belong to; then
        nothing was changed.

    Raises:
        Refusal: it is not read yet, or in the catalogue already.
        InputError: no size is known.
    """
    if part.reading is None:
        raise UNREAD
    if part.stored:
        raise Refusal(409, "this part is in the catalogue already", "change it there")
    known = stock.same_photos(part)
    if known is None:
        kind = kind_of(decided_kind(part))
        known = stock.put(part, kind, entry)
    elif known.quantity == 0:  # it was added and taken back
        store.change_part(
            stock.catalogue,
            known.code,
            entry.person,
            bin=entry.place.bin,
            shelf=entry.place.shelf,
            condition=entry.condition,
            quantity=entry.quantity,
        )
    else:
        return known
    part.stored, part.added = known.code, entry.quantity
    part.write()
    return None


def add_pieces(stock: Stock, code: str, count: int, person: str = "") -> store.Part:
    """More pieces of a part of the catalogue, or fewer; never below none.

    Raises:
        UnknownCodeError: there is no such part.
    """
    with stock.changing:
        now = stock.find(code)
        quantity = min(MOST_PIECES, max(0, now.quantity + count))
        return store.change_part(stock.catalogue, now.code, person, quantity=quantity)


def take_back(stock: Stock, part: Part, person: str = "") -> None:
    """Undo the last adding of a bench part to the catalogue."""
    if part.stored:
        add_pieces(stock, part.stored, -part.added, person)
        part.stored, part.added = None, 0
        part.write()


def mark_of(part: store.Part) -> str:
    """A short mark of the part as it stands: another one means that somebody changed it."""
    return hashlib.blake2b(repr(part).encode(), digest_size=8).hexdigest()


def decide(catalogue: store.Catalogue, code: str, form: Form, person: str = "") -> None:
    """Write down one decision of a person about a part of the catalogue.

    Raises:
        Refusal: the form says nothing that can be done.
        InputError: no such part or candidate, or a size that makes no sense.
    """
    rank, size, act = form.text("rank", 3), form.text("size", 60), form.text("act")
    if rank.isdigit():
        store.accept(catalogue, code, int(rank), person)
    elif act == "again":
        store.photograph_again(catalogue, code, person)
    elif act == "skip":
        store.skip(catalogue, code, person)
    elif act == "undo":
        store.reopen(catalogue, code, person)
    elif size:
        kind = store.get_part(catalogue, code).kind
        meant = parse(size, load_tables()).one(kind)
        store.correct(catalogue, code, meant.size, meant.part, size, person, meant.edge)
    else:
        raise Refusal(400, "nothing was said about the part", "choose one of the buttons")


def count_of(text: str, below: bool = False) -> int:
    """A count of pieces from a form; 1 if nothing was typed; negative ones only if `below`.

    Raises:
        Refusal: not a whole number from 0 to 9999.
    """
    text = text or "1"
    plain = text.removeprefix("-") if below else text
    if not (plain.isascii() and plain.isdigit() and int(plain) <= MOST_PIECES):
        raise Refusal(422, f"{text!r} is no count", "give a whole number, such as 1")
    return int(text)


@dataclass(frozen=True)
class Diameter:
    """One bead seat diameter with its names, as page and API list it."""

    bsd: int
    kind: str  # 'wired' or 'beaded'
    names: tuple[str, ...]
    share: float  # of parts met, in the market asked for
    note: str
    source: str
    from_memory: bool


@cache
def diameters(market: str) -> tuple[Diameter, ...]:
    """All bead seat diameters, largest first.

    Raises:
        InputError: there is no such market.
    """
    tables = load_tables()
    made = [
        Diameter(
            seat.bsd,
            seat.kind,
            known_as(seat.bsd, tables),
            tables.prior(seat.bsd, market),
            seat.note,
            tables.sources.get(seat.source, seat.source),
            seat.from_memory,
        )
        for seat in tables.seats
    ]
    return tuple(sorted(made, key=lambda one: -one.bsd))
