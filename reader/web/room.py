"""The room in a frame as a form or a program asks for it; pages and API share it."""

from __future__ import annotations

from dataclasses import dataclass

from reader.catalogue.columns import Part
from reader.catalogue.query.room import tyres_through
from reader.errors import InputError
from reader.fit.room import Room, largest, openings
from reader.fit.wheel import GAP
from reader.names.parts import rim_of
from reader.names.typed import parse
from reader.tables import load_tables
from reader.web.stock import Stock

LENGTHS = ("fork", "stay", "mudguard", "height", "gap")


@dataclass(frozen=True)
class Found:
    """The answer: what goes through, what lies in the bins, and how many must be read again."""

    room: Room
    parts: tuple[Part, ...]
    unsure: int
    on_rim: bool


def answered(query: dict[str, str], stock: Stock, market: str) -> Found | None:
    """What the address asks for; None where it asks nothing yet.

    Raises:
        InputError: no wheel, nothing measured, or no measure of a bicycle.
    """
    if not query.get("wheel", "").strip():
        return None
    tables = load_tables()
    given = {name: length(name, query.get(name, "")) for name in LENGTHS}
    gap = given["gap"] if given["gap"] is not None else GAP
    typed = parse(query["wheel"].strip(), tables, market)
    rim = rim_of(typed.one("rim"), tables) if typed.kind == "rim" else None
    bsd = rim.size.bsd if rim else typed.one("tyre").size.bsd
    passed = openings(given["fork"], given["stay"], given["mudguard"], gap)
    room = largest(passed, tables, bsd, rim, given["height"], gap)
    parts, unsure = tyres_through(stock.catalogue, room)
    return Found(room, tuple(parts), unsure, rim is not None)


def length(name: str, text: str) -> float | None:
    """A length in mm as typed; None if empty.

    Raises:
        InputError: no number.
    """
    plain = text.strip().replace(",", ".").removesuffix("mm").strip()
    if not plain:
        return None
    try:
        return float(plain)
    except ValueError as error:
        raise InputError(f"'{text[:12]}' is no length for {name}", "give mm, such as 42") from error
