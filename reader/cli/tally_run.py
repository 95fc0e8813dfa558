"""What `tyremark tally`, `missing` and `want` do."""

from __future__ import annotations

import csv
from dataclasses import asdict, fields
from pathlib import Path
from typing import cast

from rich import box
from rich.console import Console
from rich.table import Table

from reader import catalogue as store
from reader.catalogue.io.lists import SAVE, guard
from reader.catalogue.query.tally import By, Line
from reader.cli.screen import print_json
from reader.errors import CatalogueError, InputError
from reader.names.typed import parse
from reader.report import percent
from reader.tables import load_tables

NOTE = "from-to: 95 of 100 times the true number lies there, if the readings' beliefs are right"


def tally(
    where: str,
    by: str,
    kind: str,
    bin: str,
    as_csv: Path | None,
    plot: Path | None,
    as_json: bool,
) -> None:
    """Count, then print and write what is asked for."""
    catalogue = store.open_catalogue(where, create=False, whole=True)
    lines = store.tally(catalogue, cast(By, by), kind, bin)
    if plot is not None:
        store.plot_tally(lines, plot, _title(by, kind, bin))
    if as_csv is not None:
        _write(lines, as_csv)
    if as_json:
        print_json([asdict(line) for line in lines])
    elif lines:
        _table(lines, _title(by, kind, bin))
    else:
        print("The catalogue is empty: bring parts in with tyremark bin FOLDER")


def _title(by: str, kind: str, bin: str) -> str:
    what = {"size": "ISO size", "bsd": "bead seat diameter", "width": "width class"}.get(by, by)
    return f"{(kind or 'part').capitalize()}s by {what}" + (f", {bin}" if bin else "")


def _table(lines: list[Line], title: str) -> None:
    table = Table(title=title, title_justify="left", caption=NOTE, box=box.SIMPLE)
    table.add_column("")
    for name in ("pieces", "from", "to", "certain"):
        table.add_column(name, justify="right")
    for line in lines:
        if line.high == 0 and f"{line.expected:.1f}" == "0.0":
            continue  # a trace of belief is no part; CSV and JSON have it
        counts = (line.low, line.high, line.certain)
        table.add_row(line.name, f"{line.expected:.1f}", *map(str, counts))
    Console(highlight=False).print(table)


def _write(lines: list[Line], path: Path) -> None:
    try:
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(field.name for field in fields(Line))
            for line in lines:
                writer.writerow((guard(line.name), *list(asdict(line).values())[1:]))
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
    print("Asked for:" if asked else "Nothing is asked for (tyremark want 47-507).")
    for gap in asked:
        wish = gap.wish
        state = f"{wish.quantity} asked, {gap.expected:.1f} there, enough: {percent(gap.chance)}"
        print(f"  {wish.number:3}  {wish}: {state}  {wish.note}".rstrip())
    print("To complete wheels:" if lacking else "No rim or tyre is alone.")
    for kind, size, pieces in lacking[:50]:
        print(f"  {pieces} x {kind} to go with {'tyre' if kind == 'rim' else 'rim'} {size}")


def want(
    where: str, size: str, kind: str, width: str, quantity: int, note: str, done: int | None
) -> None:
    """Note a wish down, or strike one."""
    catalogue = store.open_catalogue(where)
    if done is not None:
        store.done_with(catalogue, done)
        print(f"Number {done} is struck.")
        return
    meant = parse(size, load_tables()).one(kind).size
    if width and meant.width is not None:
        raise InputError("a width given twice", "give a diameter with --width, or a size alone")
    span = _span(width) if meant.width is None else (meant.width, meant.width)
    number = store.ask_for(catalogue, kind, meant.bsd, span, quantity, note)
    print(f"Noted under number {number}.")


def _span(text: str) -> tuple[float, float] | None:
    if not text:
        return None
    try:
        low, high = (float(part) for part in text.split("-"))
    except ValueError as error:
        raise InputError(f"--width {text!r}", "write from-to in mm, e.g. 28-37") from error
    return min(low, high), max(low, high)
