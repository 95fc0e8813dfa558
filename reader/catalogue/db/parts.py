"""Parts in the catalogue: bringing in, finding by code, moving, counting, and what happened."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection, RowMapping
from sqlalchemy.exc import IntegrityError

from reader.catalogue.cells import checked
from reader.catalogue.columns import SETTLED, TOLD, Part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.records import Share
from reader.catalogue.db.store import Catalogue
from reader.catalogue.review.priority import gain
from reader.errors import CatalogueError, UnknownCodeError

T = TypeVar("T")
PARTS = schema.parts
TRIES = 4  # when two processes bring in the same part at the same moment


def now() -> str:
    """The present moment in UTC, ISO 8601, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def part_of(row: RowMapping) -> Part:
    """A row of `parts` as a value."""
    return Part(**row)


def try_again(act: Callable[[], T], name: str) -> T:
    """Run a whole transaction again if another process was faster with the same rows."""
    for _ in range(TRIES - 1):
        try:
            return act()
        except IntegrityError:
            continue
    try:
        return act()
    except IntegrityError as error:
        message = f"the catalogue {name} refuses the data ({error.orig})"
        raise CatalogueError(message, "check that the part still exists") from error


def locked(connection: Connection, code: str) -> Part:
    """The part, held against other writers until the transaction ends.

    Raises:
        InputError: there is no such part.
    """
    return _one(connection, code, sa.select(PARTS).with_for_update())


def found(connection: Connection, code: str) -> Part:
    """The part as it is.

    Raises:
        InputError: there is no such part.
    """
    return _one(connection, code, sa.select(PARTS))


def _one(connection: Connection, code: str, query: sa.Select[Any]) -> Part:
    row = connection.execute(query.where(PARTS.c.code == code)).mappings().first()
    if row is None:
        remedy = "check the code, or look it up with: tyremark find"
        raise UnknownCodeError(f"no part {codes.pretty(code)} in the catalogue", remedy)
    return part_of(row)


def next_number(connection: Connection, table: sa.Table, code: str) -> int:
    """The number of the part's next entry in a table that only grows; 1 for the first."""
    query = sa.select(sa.func.coalesce(sa.func.max(table.c.number), 0) + 1)
    return int(connection.scalar(query.where(table.c.part == code)) or 1)


def note_down(
    connection: Connection, code: str, what: str, detail: str = "", person: str = ""
) -> None:
    """Add a line to the part's history."""
    number = next_number(connection, schema.history, code)
    values = {"part": code, "number": number, "what": what, "detail": detail}
    values |= {"made_at": now(), "person": person}
    connection.execute(sa.insert(schema.history).values(values))


def set_shares(connection: Connection, code: str, shares: Sequence[Share]) -> None:
    """Replace what the part may be."""
    table = schema.candidates
    connection.execute(sa.delete(table).where(table.c.part == code))
    rows = [
        {
            "part": code,
            "rank": rank,
            "kind": share.kind,
            "bsd": share.bsd,
            "width": share.width,
            "probability": share.probability,
        }
        for rank, share in enumerate(shares, start=1)
    ]
    if rows:
        connection.execute(sa.insert(table), rows)


def shares_of(connection: Connection, code: str) -> tuple[Share, ...]:
    """What the part may be, most probable first."""
    c = schema.candidates.c
    query = sa.select(c.kind, c.bsd, c.width, c.probability).where(c.part == code).order_by(c.rank)
    return tuple(Share(*row) for row in connection.execute(query))


def refresh_gain(connection: Connection, code: str) -> None:
    """Work out anew how much a look at the part would settle."""
    part = locked(connection, code)
    value = 0.0
    if part.state in ("open", "doubted"):
        value = gain(
            shares_of(connection, code),
            part.verdict,
            part.quantity,
            has_strip(connection, code),
            part.skips,
        )
    connection.execute(sa.update(PARTS).where(PARTS.c.code == code).values(gain=value))


def has_strip(connection: Connection, code: str) -> bool:
    """Whether any reading of the part kept a picture of its marking."""
    c = schema.readings.c
    query = sa.select(c.number).where(c.part == code, c.strip.is_not(None)).limit(1)
    return connection.scalar(query) is not None


def get_part(catalogue: Catalogue, code: str) -> Part:
    """The part with that code, in any spelling a person may type.

    Raises:
        InputError: it is no code, or there is no such part.
    """
    with catalogue.read() as connection:
        return found(connection, codes.tidy(code))


def change_part(catalogue: Catalogue, code: str, person: str = "", **said: Any) -> Part:
    """Say something of a part: where it lies, its condition, how many there are, what it is.

    Args:
        catalogue: which.
        code: the part's.
        person: who says so.
        **said: columns that may be told (`columns.TOLD`) with their new values; None leaves one as
            it is, '' empties it.

    Raises:
        InputError: no such part, or a value that makes no sense.
    """
    values = told(said)
    code = codes.tidy(code)
    with catalogue.write() as connection:
        part = locked(connection, code)
        changes = {k: v for k, v in values.items() if v != getattr(part, k)}
        apply_changes(connection, part, changes, person)
        return locked(connection, code)


def told(said: Mapping[str, Any]) -> dict[str, Any]:
    """What a person says, made sure of.

    Raises:
        InputError: a value that makes no sense.
        TypeError: a column that nobody may tell.
    """
    unknown = set(said) - {column.name for column in TOLD}
    if unknown:
        raise TypeError(f"no person can say {', '.join(sorted(unknown))}")
    return checked(said)


def apply_changes(
    connection: Connection, part: Part, changes: Mapping[str, Any], person: str = ""
) -> None:
    """Change columns of a part and write each change into its history."""
    if not changes:
        return
    connection.execute(sa.update(PARTS).where(PARTS.c.code == part.code).values(**changes))
    for name, value in changes.items():
        note_down(connection, part.code, name, change_text(getattr(part, name), value), person)
    refresh_gain(connection, part.code)


def change_text(old: object, new: object) -> str:
    """A change as the history shows it.

    >>> change_text(None, 36)
    ' → 36'
    """
    return f"{'' if old is None else old} → {'' if new is None else new}"


def history(catalogue: Catalogue, code: str) -> list[dict[str, str]]:
    """Everything that happened to a part, oldest first: what, detail, made_at (UTC), person."""
    c = schema.history.c
    query = sa.select(c.what, c.detail, c.made_at, c.person).order_by(c.number)
    with catalogue.read() as connection:
        rows = connection.execute(query.where(c.part == codes.tidy(code))).mappings()
        return [dict(row) for row in rows]


def is_settled(part: Part) -> bool:
    """Whether a person's word counts for it."""
    return part.state in SETTLED or part.state == "doubted"
