"""Bringing a list of parts into the catalogue: all of it, or nothing."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.cells import typed
from reader.catalogue.columns import LISTED, SETTLED, Part, new_part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.parts import PARTS, now, part_of, try_again
from reader.catalogue.db.records import APART, Share, as_whole
from reader.catalogue.db.store import Catalogue
from reader.catalogue.io import bulk
from reader.catalogue.io.lists import SIZE, read_rows
from reader.catalogue.review.settle import check_size
from reader.errors import InputError
from reader.language import N_
from reader.records import Size

AT_ONCE = 500  # SQLite bounds the number of parameters
LISTS = schema.lists
Row = dict[str, Any]  # columns that the list has -> values; None where a number's cell is empty


@dataclass(frozen=True)
class Brought:
    """How many parts were new, changed, and the same as before."""

    new: int
    changed: int
    same: int
    details: tuple[str, ...] = ()  # one line a change


@dataclass
class Plan:
    """What a list would do."""

    new: list[Row] = field(default_factory=list)  # all columns
    changes: list[tuple[Part, Row]] = field(default_factory=list)  # columns that differ
    same: int = 0

    @property
    def brought(self) -> Brought:
        """In numbers and words."""
        lines = [_came_in(row) for row in self.new] + [_changed(*one) for one in self.changes]
        return Brought(len(self.new), len(self.changes), self.same, tuple(lines))


def read_list(
    catalogue: Catalogue, path: Path, dry_run: bool = False, again: bool = False, person: str = ""
) -> Brought:
    """Bring in a list.

    Parts with a known code are changed as the list says, in the columns that it has; another size
    counts as a person's correction. A line without a code is a new part, every time.

    Args:
        catalogue: where to.
        path: a .csv or .parquet file.
        dry_run: only tell what would change.
        again: bring it in though the same lines were brought in before.
        person: who brings it in.

    Raises:
        InputError: the first line that makes no sense, or lines without code that were brought in
            before; then nothing was brought in.
    """
    names, lines = read_rows(path)
    found = [_checked(line, path.name) for line in lines]
    counts = Counter(row["code"] for row in found if row["code"])
    twice = [code for code, count in counts.items() if count > 1]
    if twice:
        message = N_(f"{path.name} holds the part {codes.pretty(twice[0])} twice")
        raise InputError(message, "keep one line of it")
    digest = _digest(names, found)

    def act() -> Brought:
        with catalogue.write() as connection:
            _ask_about_twice(connection, digest, path.name, again)
            plan = _plan(connection, found, path.name)
            if not dry_run:
                bulk.write(connection, plan.new, plan.changes, person or "list")
                _remember(connection, digest, path.name, len(plan.new))
        return plan.brought

    return try_again(act, catalogue.name)


def _digest(names: Sequence[str], found: Sequence[Row]) -> str:
    """Of the lines without code; '' if there are none, as a code can't come in twice."""
    nameless = [json.dumps(row, sort_keys=True) for row in found if not row["code"]]
    if not nameless:
        return ""
    text = "\n".join([*sorted(set(names) - {"code", SIZE}), *sorted(nameless)])
    return blake2b(text.encode(), digest_size=20).hexdigest()


def _ask_about_twice(connection: Connection, digest: str, name: str, again: bool) -> None:
    query = sa.select(LISTS).where(LISTS.c.digest == digest)
    row = None if again else connection.execute(query).mappings().first()
    if row is not None:
        what = N_(
            f"the parts of {name} came in before, on {row['made_at'][:10]} from {row['name']}"
        )
        raise InputError(what, "if these are further parts, add --again")


def _remember(connection: Connection, digest: str, name: str, parts: int) -> None:
    if digest:
        connection.execute(sa.delete(LISTS).where(LISTS.c.digest == digest))
        values = {"digest": digest, "name": name, "parts": parts, "made_at": now()}
        connection.execute(sa.insert(LISTS).values(values))


def _checked(line: dict[str, Any], name: str) -> Row:
    """The line with typed values, by the columns' names in the database.

    Raises:
        InputError: naming line and column.
    """
    number = line.pop("line")
    try:
        row = {
            LISTED[key].name: typed(LISTED[key], value)
            for key, value in line.items()
            if key != SIZE
        }
        row["code"] = codes.tidy(row["code"]) if row.get("code") else ""
        _check_size(row)
    except InputError as error:
        raise InputError(f"line {number} of {name}: {error.message}", error.remedy) from error
    return row


def _check_size(row: Mapping[str, Any]) -> None:
    bsd, width = row.get("bsd"), row.get("width")
    if bsd is not None:
        _known(bsd, width)
    elif width is not None:
        raise InputError("a width_mm without bsd_mm", "give both or neither")


@lru_cache(maxsize=4096)
def _known(bsd: int, width: float | None) -> None:
    check_size(Size(bsd, width))


def _plan(connection: Connection, found: Sequence[Row], name: str) -> Plan:
    plan = Plan()
    known = _by_code(connection, [row["code"] for row in found if row["code"]])
    for row in found:
        old = known.get(row["code"])
        if old is None:
            plan.new.append(_new(row, name))
        elif differs := _differences(old, row):
            plan.changes.append((old, differs))
        else:
            plan.same += 1
    return plan


def _by_code(connection: Connection, wanted: Sequence[str]) -> dict[str, Part]:
    found: dict[str, Part] = {}
    for start in range(0, len(wanted), AT_ONCE):
        some = wanted[start : start + AT_ONCE]
        query = sa.select(PARTS).where(PARTS.c.code.in_(some)).with_for_update()
        for row in connection.execute(query).mappings():
            found[row["code"]] = part_of(row)
    return found


def _new(row: Row, name: str) -> Row:
    if "kind" not in row or "bsd" not in row:
        what = N_(f"{name} has a part that is new here ({row['code']}), but no kind and bsd_mm")
        raise InputError(what, "add these two columns, or take the part out of the list")
    told = {key: value for key, value in row.items() if value is not None and value != ""}
    known = row["bsd"] is not None
    probability = told.get("probability", 1.0) if known else 0.0
    settled = {"probability": probability, "state": "corrected" if known else "open"}
    values = {"arrived": now()[:10], **settled, **told, "probability": probability}
    values |= _apart(values, told)
    return new_part(**{**values, "code": row["code"] or codes.new_code()})


def _apart(values: Row, told: Row) -> Row:
    """How sure diameter and width are: as the list says, else as the whole size."""
    if values.get("bsd") is None:
        return as_whole((), "none")
    share = Share("", values["bsd"], values.get("width"), values["probability"])
    verdict = "sure" if values["state"] in SETTLED else values.get("verdict") or "none"
    said = {name: told[name] for name in APART if name in told}
    whole = as_whole((share,), verdict) | (said if values["state"] not in SETTLED else {})
    # no diameter is less sure than a size that holds it
    return whole | {"bsd_probability": max(whole["bsd_probability"], share.probability)}


def _differences(part: Part, row: Row) -> Row:
    """What the list says otherwise: of what a person may tell at any time, and kind and size."""
    differs = {
        column.name: row[column.name]
        for column in LISTED.values()
        if column.about.told
        and column.name in row
        and row[column.name] != getattr(part, column.name)
        and (column.optional or row[column.name] is not None)
    }
    if row.get("bsd") is None:
        return differs
    width = row.get("width", part.width)
    said = {"kind": row.get("kind") or part.kind, "bsd": row["bsd"], "width": width}
    if any(value != getattr(part, key) for key, value in said.items()):
        differs |= said
    return differs


def _came_in(row: Row) -> str:
    size = N_("no size") if row["bsd"] is None else str(Size(row["bsd"], row["width"]))
    return f"new: {row['quantity']} x {row['kind']} {size} {row['bin']}".rstrip()


def _changed(part: Part, differs: Row) -> str:
    told = {key: value for key, value in differs.items() if value != getattr(part, key)}
    words = (f"{key} {_word(getattr(part, key))} → {_word(value)}" for key, value in told.items())
    return f"{codes.pretty(part.code)}: {', '.join(words)}"


def _word(value: object) -> str:
    return "none" if value in (None, "") else f"{value}"
