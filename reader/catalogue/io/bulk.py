"""Many parts written in one transaction, a few statements for all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import Part
from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS, change_text, now, refresh_gain
from reader.catalogue.db.records import Share
from reader.catalogue.review.priority import gain
from reader.catalogue.review.settle import settle

OF_SIZE = ("kind", "bsd", "width")
AT_ONCE = 500
Row = Mapping[str, Any]


def write(
    connection: Connection, new: Sequence[Row], changes: Sequence[tuple[Part, Row]], person: str
) -> None:
    """Insert parts and change others; each change goes into its part's history.

    Args:
        connection: in a transaction.
        new: values of all columns.
        changes: a part as it is, and the columns that shall differ.
        person: who says so.
    """
    _insert(connection, new, person)
    _change(connection, changes, person)


def _insert(connection: Connection, new: Sequence[Row], person: str) -> None:
    if not new:
        return
    shares = {
        row["code"]: Share(row["kind"], row["bsd"], row["width"], row["probability"])
        for row in new
        if row["bsd"] is not None
    }
    parts = [{**row, "gain": _gain(row, shares.get(row["code"]))} for row in new]
    connection.execute(sa.insert(PARTS), parts)
    rests = {row["code"]: row["bsd_probability"] - row["probability"] for row in new}
    candidates = [
        {
            "part": code,
            "rank": rank,
            "kind": share.kind,
            "bsd": share.bsd,
            "width": width,
            "probability": chance,
        }
        for code, share in shares.items()
        # a list has the best size only: of the others the diameter is known, if that is likelier
        for rank, width, chance in (
            (1, share.width, share.probability),
            (2, None, round(rests[code], 6)),
        )
        if rank == 1 or (chance > 0 and share.width is not None)
    ]
    if candidates:
        connection.execute(sa.insert(schema.candidates), candidates)
    _history(connection, ((row["code"], "came in", "from a list") for row in new), person)


def _gain(row: Row, share: Share | None) -> float:
    if row["state"] not in ("open", "doubted"):
        return 0.0
    return gain((share,) if share else (), row["verdict"], row["quantity"], False, row["skips"])


def _change(connection: Connection, changes: Sequence[tuple[Part, Row]], person: str) -> None:
    by_columns: dict[tuple[str, ...], list[dict[str, Any]]] = defaultdict(list)
    for part, row in changes:
        plain = {key: value for key, value in row.items() if key not in OF_SIZE}
        if plain:
            by_columns[tuple(plain)].append({"of": part.code, **plain})
    for names, values in by_columns.items():
        change = sa.update(PARTS).where(PARTS.c.code == sa.bindparam("of"))
        connection.execute(change.values({name: sa.bindparam(name) for name in names}), values)
    _history(connection, _lines(changes), person)
    for part, row in changes:
        if "bsd" in row:
            share = Share(row["kind"], row["bsd"], row["width"], 1.0)
            settle(connection, part.code, "corrected", share, "", person)
        elif "quantity" in row and part.state in ("open", "doubted"):
            refresh_gain(connection, part.code)


def _lines(changes: Sequence[tuple[Part, Row]]) -> Iterator[tuple[str, str, str]]:
    for part, row in changes:
        for name, value in row.items():
            if name not in OF_SIZE:
                yield part.code, name, change_text(getattr(part, name), value)


def _history(connection: Connection, lines: Iterable[tuple[str, str, str]], person: str) -> None:
    found = list(lines)
    numbers = _last_numbers(connection, sorted({code for code, *_ in found}))
    moment = now()
    rows = []
    for code, what, detail in found:
        numbers[code] += 1
        rows.append(
            {
                "part": code,
                "number": numbers[code],
                "what": what,
                "detail": detail,
                "made_at": moment,
                "person": person,
            }
        )
    if rows:
        connection.execute(sa.insert(schema.history), rows)


def _last_numbers(connection: Connection, codes: Sequence[str]) -> dict[str, int]:
    c = schema.history.c
    numbers: dict[str, int] = defaultdict(int)
    for start in range(0, len(codes), AT_ONCE):
        some = codes[start : start + AT_ONCE]
        query = sa.select(c.part, sa.func.max(c.number)).where(c.part.in_(some)).group_by(c.part)
        numbers.update((code, int(number)) for code, number in connection.execute(query))
    return numbers
