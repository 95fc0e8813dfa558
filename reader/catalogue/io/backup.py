"""A consistent copy of a living catalogue, as one SQLite file."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import sqlalchemy as sa

from reader.catalogue.db import schema
from reader.catalogue.db.check import assure_whole
from reader.catalogue.db.store import Catalogue, open_catalogue
from reader.errors import CatalogueError

AT_ONCE = 1000  # rows
SAVE = "choose another place with room that you may write"


def backup(catalogue: Catalogue, to: Path) -> int:
    """Copy everything as it is at one moment, while others may write; gives the copy's bytes.

    The copy is a catalogue of its own, of PostgreSQL too. An old file of that name stays until
    the new one is whole.

    Raises:
        CatalogueError: the copy can't be written, or the catalogue can't be read.
    """
    if catalogue.is_sqlite and to.exists() and to.samefile(catalogue.name):
        raise CatalogueError(f"{to} is the catalogue itself", "name another file for the copy")
    part = to.with_name(to.name + ".part")
    try:
        part.unlink(missing_ok=True)
        _copy(catalogue, part)
        part.replace(to)
        return to.stat().st_size
    except (OSError, sqlite3.Error) as error:
        reason = getattr(error, "strerror", None) or error
        raise CatalogueError(f"the copy {to} can't be written ({reason})", SAVE) from error
    finally:
        for rest in (part, Path(f"{part}-wal"), Path(f"{part}-shm")):
            rest.unlink(missing_ok=True)


def _copy(catalogue: Catalogue, part: Path) -> None:
    if not part.absolute().parent.is_dir():
        raise CatalogueError(f"the folder of {part} does not exist", "make it first")
    if catalogue.is_sqlite:
        size = Path(catalogue.name).stat().st_size
        if shutil.disk_usage(part.absolute().parent).free < size:
            raise CatalogueError(f"there is no room for a copy of {size / 1e6:.0f} MB", SAVE)
        source = sqlite3.connect(f"file:{Path(catalogue.name).absolute()}?mode=ro", uri=True)
        with closing(source), closing(sqlite3.connect(part)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
    else:
        _rows(catalogue, part)
    made = open_catalogue(part, create=False)
    try:
        assure_whole(made)
    finally:
        made.close()


def _rows(catalogue: Catalogue, part: Path) -> None:
    made = open_catalogue(part)
    engine = catalogue.engine.execution_options(isolation_level="REPEATABLE READ")
    try:
        with engine.connect() as source, made.write() as target:
            for table in schema.metadata.sorted_tables:
                found = source.execution_options(yield_per=AT_ONCE).execute(sa.select(table))
                for rows in found.mappings().partitions():
                    target.execute(sa.insert(table), [dict(row) for row in rows])
    finally:
        made.close()
