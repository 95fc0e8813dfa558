"""Whether a catalogue is whole: the database's own tests, and what must hold between its rows."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import COLUMNS
from reader.catalogue.db import schema
from reader.catalogue.db.codes import LETTERS
from reader.catalogue.db.store import Catalogue
from reader.errors import CatalogueError
from reader.language import N_

REMEDY = N_(
    "bring back a copy (tyremark check tells more), or read the photos into a new catalogue"
)
SMALL = 64 * 2**20  # bytes of a file up to which indexes are compared at opening, in a second
MOST = 20  # troubles of one sort that are told


def assure_whole(catalogue: Catalogue) -> None:
    """Look through the whole database, as far as that is quick.

    Raises:
        CatalogueError: it is damaged.
    """
    with catalogue.read() as connection:
        for trouble in _quickly(connection):
            raise CatalogueError(f"the catalogue {catalogue.name} is damaged ({trouble})", REMEDY)


def _quickly(connection: Connection) -> Iterator[str]:
    yield from _missing(connection)
    name = connection.engine.url.database or ""
    small = connection.dialect.name == "sqlite" and Path(name).stat().st_size <= SMALL
    yield from _broken(connection, "integrity_check" if small else "quick_check")
    if connection.dialect.name == "sqlite":
        for table, *_ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
            yield N_(f"rows of {table} belong to no part")


def troubles(catalogue: Catalogue) -> Iterator[str]:
    """Everything that is wrong with a catalogue, one line each; takes its time."""
    with catalogue.read() as connection:
        missing = list(_missing(connection))
        yield from missing
        if missing:
            return
        yield from _broken(connection, "integrity_check")
        yield from _orphans(connection)
        yield from _nonsense(connection)


def _missing(connection: Connection) -> Iterator[str]:
    there = sa.inspect(connection)
    names = set(there.get_table_names())
    for table in schema.metadata.sorted_tables:
        if table.name not in names:
            yield N_(f"the table {table.name} is missing")
            continue
        lacking = {column.name for column in table.c} - {
            column["name"] for column in there.get_columns(table.name)
        }
        indexes = {index["name"] for index in there.get_indexes(table.name)}
        lacking |= {str(index.name) for index in table.indexes} - indexes
        if lacking:
            yield N_(f"the table {table.name} lacks {', '.join(sorted(lacking))}")


def _broken(connection: Connection, how: str) -> Iterator[str]:
    """SQLite's own test; a PostgreSQL server has checksums of its own, and tells when reading."""
    if connection.dialect.name == "sqlite":
        for text in connection.exec_driver_sql(f"PRAGMA {how}({MOST})").scalars():
            if text != "ok":
                yield " ".join(str(text).split()).removeprefix("*** in database main *** ")[:200]


def _orphans(connection: Connection) -> Iterator[str]:
    parts = schema.parts.c.code
    for table in schema.metadata.sorted_tables:
        for key in table.foreign_keys:
            column = key.parent
            lost = sa.select(sa.func.count()).where(column.not_in(sa.select(parts)))
            count = connection.scalar(lost) or 0
            if count:
                yield N_(f"{count} rows of {table.name} belong to no part")


def _nonsense(connection: Connection) -> Iterator[str]:
    """Values that no program of ours writes."""
    c = schema.parts.c
    for column in COLUMNS.values():
        about, here = column.about, c[column.name]
        if about.choices and not about.several:
            wrong: Any = here.not_in((*about.choices, ""))
        elif column.type is not str and not about.inner:
            wrong = sa.or_(here < about.low, here > about.high)
        else:
            continue
        yield from _found(connection, wrong, column.listed)
    yield from _found(connection, sa.and_(c.bsd.is_(None), c.width.is_not(None)), "size")
    letters = f"[^{LETTERS}]"
    if connection.dialect.name == "sqlite":
        bad: Any = sa.or_(sa.func.length(c.code) != 10, c.code.op("GLOB")(f"*{letters}*"))
    else:
        bad = c.code.op("!~")(f"^[{LETTERS}]{{10}}$")
    yield from _found(connection, bad, "code")


def _found(connection: Connection, wrong: Any, what: str) -> Iterator[str]:
    query = sa.select(schema.parts.c.code).where(wrong).limit(MOST)
    codes = list(connection.scalars(query))
    if codes:
        yield N_(f"the {what} of {len(codes)} parts makes no sense, as of {codes[0]!r}")


def photos_missing(catalogue: Catalogue) -> tuple[int, list[Path]]:
    """How many photos belong to parts, and those that are no longer where they were read."""
    c = schema.photos.c
    with catalogue.read() as connection:
        paths = list(
            connection.scalars(sa.select(c.path).where(c.state == "read").order_by(c.path))
        )
    return len(paths), [Path(path) for path in paths if not Path(path).is_file()]
