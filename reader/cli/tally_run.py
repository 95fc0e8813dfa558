"""What `tyremark tally`, `missing` and `want` do."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import asdict, astuple, dataclass, fields
from pathlib import Path
from typing import cast

from rich import box
from rich.console import Console
from rich.table import Table

from reader import catalogue as store
from reader.catalogue.io.lists import SAVE, guard
from reader.catalogue.query.tally import (
    FEWEST,
    NOT_READ,
    Among,
    By,
    Line,
    beside,
    summed_up,
)
from reader.cli.screen import print_json
from reader.errors import CatalogueError, InputError
from reader.language import N_, number, said
from reader.names.typed import parse
from reader.report import percent
from reader.tables import load_tables

NOTE = N_(
    "low to high: 95 of 100 times the true number lies there, if readings are as right as they say"
)
KINDS_OF = {"": N_("Parts"), "tyre": N_("Tyres"), "rim": N_("Rims"), "tube": N_("Tubes")}
KINDS_OF |= {"unknown": N_("Unknowns")}
BY = {
    "size": N_("by ISO size"),
    "bsd": N_("by bead seat diameter"),
    "width": N_("by width class"),
    "kind": N_("by kind"),
    "month": N_("by month"),
    "year": N_("by year"),
    "bin": N_("by bin"),
    "depot": N_("by depot"),
}
HEADS = tuple(field.name for field in fields(Line))
SHOWN = HEADS[1:-1]  # columns of the table; CSV and JSON have the same names
WIDTHS = 4  # of a diameter that are named


@dataclass(frozen=True)
class Wishes:
    """What to count, and where to."""

    by: str
    among: Among
    beside: str = ""
    csv: Path | None = None
    plot: Path | None = None
    as_json: bool = False


def tally(where: str, wishes: Wishes) -> None:
    """Count, then print and write what is asked for."""
    catalogue = store.open_catalogue(where, create=False, whole=True)
    among, by = wishes.among, cast(By, wishes.by)
    store.assure_known(catalogue, **asdict(among))
    if wishes.beside:
        across = cast(By, wishes.beside)
        return _beside(beside(catalogue, by, across, among), wishes)
    lines = store.tally(catalogue, by, **asdict(among))
    if wishes.plot is not None:
        store.plot_tally(lines, wishes.plot, _title(wishes))
    if wishes.csv is not None:
        _write([HEADS, *(astuple(line) for line in lines)], wishes.csv)
    if wishes.as_json:
        print_json([asdict(line) for line in lines])
    elif lines:
        widths = _widths(catalogue, among) if by == "bsd" else {}
        _table(lines, _title(wishes), widths)
    else:
        print(said("The catalogue is empty: bring parts in with tyremark bin FOLDER"))


def _title(wishes: Wishes) -> str:
    what = said(BY.get(wishes.by, f"by {wishes.by}"))
    kind = said(KINDS_OF[wishes.among.kind])
    places = ", ".join(filter(None, (wishes.among.depot, wishes.among.bin)))
    return f"{kind} {what}" + (f", {places}" if places else "")


def _widths(catalogue: store.Catalogue, among: Among) -> dict[str, str]:
    """The most common widths of each diameter, in words."""
    found: dict[str, dict[str, float]] = {}
    for line in store.tally(catalogue, "size", **asdict(among)):
        width, _, rest = line.name.split(" ")[0].partition("-")
        if rest and width != "?":
            widths = found.setdefault(f"{rest} mm", {})
            widths[width] = widths.get(width, 0.0) + line.expected
    return {
        name: ", ".join(
            f"{width} ({pieces:.0f})"
            for width, pieces in sorted(widths.items(), key=lambda one: -one[1])[:WIDTHS]
            if pieces >= FEWEST
        )
        for name, widths in found.items()
    }


def _table(lines: list[Line], title: str, widths: dict[str, str]) -> None:
    table = Table(title=title, title_justify="left", caption=said(NOTE), box=box.SIMPLE)
    table.add_column(said("name"))
    for name in SHOWN:
        table.add_column(said(name), justify="right")
    if widths:
        table.add_column(said("widths in mm (pieces)"))
    for line in summed_up(lines):
        counts = [number(line.expected, 1), *(str(getattr(line, name)) for name in SHOWN[1:])]
        table.add_row(_sort(line.name), *counts, *([widths.get(line.name, "")] if widths else []))
    Console(highlight=False).print(table)


def _sort(name: str) -> str:
    """What is counted, for people: '47-507 tyre' has its kind at the end."""
    size, _, kind = name.rpartition(" ")
    return f"{size} {said(kind)}" if size and kind in KINDS_OF else said(name or "none")


def _beside(found: dict[str, list[Line]], wishes: Wishes) -> None:
    """Each sort a row, each depot or month a column: the pieces expected."""
    if wishes.plot is not None:
        raise InputError("--plot draws one count", "leave --beside or --plot out")
    counts = {name: {one.name: one.expected for one in lines} for name, lines in found.items()}
    totals: dict[str, float] = {}
    for lines in counts.values():
        for name, pieces in lines.items():
            totals[name] = totals.get(name, 0.0) + pieces
    names = sorted(totals, key=lambda name: (name == NOT_READ, -totals[name], name))
    if wishes.csv is not None:
        rows = [(name, *(counts[one].get(name, 0.0) for one in counts)) for name in names]
        _write([("name", *counts), *rows], wishes.csv)
    if wishes.as_json:
        print_json(counts)
        return
    title = f"{_title(wishes)}, {said('expected')}"
    table = Table(title=title, title_justify="left", box=box.SIMPLE)
    table.add_column(said("name"))
    for one in counts:
        table.add_column(one or said("none"), justify="right")
    for name in names:
        if totals[name] >= FEWEST:
            table.add_row(_sort(name), *(number(counts[one].get(name, 0.0), 1) for one in counts))
    Console(highlight=False).print(table)


def _write(rows: Sequence[Sequence[object]], path: Path) -> None:
    try:
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            for row in rows:
                writer.writerow(guard(one) if isinstance(one, str) else one for one in row)
    except OSError as error:
        raise CatalogueError(f"{path} can't be written ({error.strerror})", SAVE) from error


def missing(where: str, bin: str, as_json: bool) -> None:
    """Print wishes that can't be served, and what would complete wheels."""
    catalogue = store.open_catalogue(where, create=False)
    asked = store.gaps(catalogue)
    lacking = store.for_wheels(catalogue, load_tables(), bin)
    if as_json:
        wishes = [{**asdict(gap), "missing": gap.missing} for gap in asked]
        wheels = [{"missing": k, "to_suit": str(s), "pieces": n} for k, s, n in lacking]
        print_json({"asked": wishes, "for_wheels": wheels})
        return
    print(said("Asked for:") if asked else said("Nothing is asked for (tyremark want 47-507)."))
    for gap in asked:
        wish = gap.wish
        state = said(
            f"{wish.quantity} asked, {gap.expected:.1f} there, enough: {percent(gap.chance)}"
        )
        what = f"{said(wish.kind)} {said(wish.what)}"
        print(f"  {wish.number:3}  {what}: {state}  {wish.note}".rstrip())
    print(said("To complete wheels:") if lacking else said("No rim or tyre is alone."))
    for kind, size, pieces in lacking[:50]:
        other = "tyre" if kind == "rim" else "rim"
        print(said(f"  {pieces} x {kind} to go with {other} {size}"))


def want(
    where: str, size: str, kind: str, width: str, quantity: int, note: str, done: int | None
) -> None:
    """Note a wish down, or strike one."""
    catalogue = store.open_catalogue(where)
    if done is not None:
        store.done_with(catalogue, done)
        print(said(f"Number {done} is struck."))
        return
    meant = parse(size, load_tables()).one(kind).size
    if width and meant.width is not None:
        raise InputError("a width given twice", "give a diameter with --width, or a size alone")
    span = _span(width) if meant.width is None else (meant.width, meant.width)
    wish = store.ask_for(catalogue, kind, meant.bsd, span, quantity, note)
    print(said(f"Noted under number {wish}."))


def _span(text: str) -> tuple[float, float] | None:
    if not text:
        return None
    try:
        low, high = (float(part) for part in text.split("-"))
    except ValueError as error:
        raise InputError(f"--width {text!r}", "write from-to in mm, e.g. 28-37") from error
    return min(low, high), max(low, high)
