"""Bringing a list of parts into the catalogue: all of it, or nothing."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.db import codes
from reader.catalogue.db.parts import (
    PARTS,
    apply_changes,
    note_down,
    now,
    part_of,
    refresh_gain,
    set_shares,
    try_again,
)
from reader.catalogue.db.records import KINDS, STATES, Part, Share
from reader.catalogue.db.store import Catalogue
from reader.catalogue.io.lists import COLUMNS, read_rows
from reader.catalogue.review.settle import check_size, settle
from reader.errors import InputError
from reader.fit.parts import RimKind
from reader.records import Size, Verdict

OF_PLACE = ("bin", "shelf", "condition", "quantity", "note")
FREE = ("bin", "shelf", "condition", "note")  # kept letter by letter
CHOICES = {
    "kind": KINDS,
    "state": STATES,
    "verdict": tuple(v.value for v in Verdict),
    "rim_kind": tuple(kind.value for kind in RimKind),
}


@dataclass(frozen=True)
class Brought:
    """How many parts were new, changed, and the same as before."""

    new: int
    changed: int
    same: int


def read_list(catalogue: Catalogue, path: Path) -> Brought:
    """Bring in a list; the same list a second time changes nothing.

    Parts with a known code are changed as the list says; another size counts as a person's
    correction. Parts without a code are new.

    Raises:
        InputError: the first line that makes no sense; then nothing was brought in.
    """
    found = [_checked(row, path.name) for row in read_rows(path)]
    seen: Counter[str] = Counter()
    for row in found:
        if not row["code"]:  # from its content, so that the same list gives the same parts
            text = json.dumps({**row, "line": 0}, sort_keys=True)
            row["code"] = codes.code_of(f"{text} {seen[text]}")
            seen[text] += 1
    twice = [code for code, count in Counter(row["code"] for row in found).items() if count > 1]
    if twice:
        message = f"{path.name} holds the part {codes.pretty(twice[0])} twice"
        raise InputError(message, "keep one line of it")

    def act() -> Brought:
        with catalogue.write() as connection:
            counts = Counter(_bring(connection, row) for row in found)
        return Brought(counts["new"], counts["changed"], counts["same"])

    return try_again(act, catalogue.name)


def _checked(row: dict[str, Any], name: str) -> dict[str, Any]:
    """The row with typed values.

    Raises:
        InputError: naming line and column.
    """
    line = row.pop("line")
    try:
        typed = {column: _typed(column, value) for column, value in row.items()}
        for column, choices in CHOICES.items():
            if typed[column] and typed[column] not in choices:
                raise InputError(f"{column} {typed[column]!r}", f"use one of {', '.join(choices)}")
        _check_numbers(typed)
        typed["code"] = codes.tidy(typed["code"]) if typed["code"] else ""
        if typed["arrived"]:
            _check_date(typed["arrived"])
    except InputError as error:
        raise InputError(f"line {line} of {name}: {error.message}", error.remedy) from error
    return typed


def _check_date(text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"arrived {text!r} is no date", "write dates as 2026-05-31") from error


def _typed(column: str, value: Any) -> Any:
    kind = COLUMNS[column][0]
    if kind is str:
        return str(value) if column in FREE else str(value).strip()
    if value == "":
        return None
    try:
        number = float(str(value).replace(",", "."))
        if number != number or (kind is int and number != int(number)):
            raise ValueError
    except (ValueError, OverflowError):
        what = "a whole number" if kind is int else "a number"
        raise InputError(f"{column} {value!r} is not {what}", "write digits only") from None
    return kind(number)


def _check_numbers(row: dict[str, Any]) -> None:
    if row["bsd_mm"] is not None:
        check_size(Size(row["bsd_mm"], row["width_mm"]))
    elif row["width_mm"] is not None:
        raise InputError("a width_mm without bsd_mm", "give both or neither")
    if row["probability"] is not None and not 0 <= row["probability"] <= 1:
        raise InputError(f"probability {row['probability']:g}", "give 0 to 1")
    if row["quantity"] is not None and not 0 <= row["quantity"] <= 1_000_000:
        raise InputError(f"quantity {row['quantity']}", "give 0 or more pieces")


def _bring(connection: Connection, row: dict[str, Any]) -> str:
    query = sa.select(PARTS).where(PARTS.c.code == row["code"]).with_for_update()
    old = connection.execute(query).mappings().first()
    if old is None:
        _insert(connection, row)
        return "new"
    return "changed" if _change(connection, part_of(old), row) else "same"


def _change(connection: Connection, part: Part, row: dict[str, Any]) -> bool:
    changes = {
        name: row[name]
        for name in OF_PLACE
        if row[name] is not None and row[name] != getattr(part, name)
    }
    apply_changes(connection, part, changes)
    told = (row["kind"] or part.kind, row["bsd_mm"], row["width_mm"])
    if row["bsd_mm"] is None or told == (part.kind, part.bsd, part.width):
        return bool(changes)
    share = Share(told[0], row["bsd_mm"], row["width_mm"], 1.0)
    settle(connection, part.code, "corrected", share, "", "list")
    return True


def _insert(connection: Connection, row: dict[str, Any]) -> None:
    known = row["bsd_mm"] is not None
    probability = 1.0 if row["probability"] is None else row["probability"]
    values = {
        **{name: row[name] for name in ("code", "rim_kind", "tube_label", *OF_PLACE)},
        "source": None,
        "kind": row["kind"] or "unknown",
        "bsd": row["bsd_mm"],
        "width": row["width_mm"],
        "probability": probability if known else 0.0,
        "verdict": row["verdict"] or "none",
        "state": row["state"] or ("corrected" if known else "open"),
        "quantity": 1 if row["quantity"] is None else row["quantity"],
        "arrived": row["arrived"] or now()[:10],
        "gain": 0.0,
        "skips": 0,
    }
    connection.execute(sa.insert(PARTS).values(values))
    if known:
        share = Share(values["kind"], values["bsd"], values["width"], values["probability"])
        set_shares(connection, row["code"], (share,))
    note_down(connection, row["code"], "came in", "from a list")
    refresh_gain(connection, row["code"])
