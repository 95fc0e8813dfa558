"""Opening a catalogue: SQLite file or PostgreSQL server, brought to the newest version."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError, NoSuchModuleError

from reader.catalogue.db import schema
from reader.catalogue.db.messages import explain
from reader.errors import CatalogueError
from reader.photo.files import printable

BUSY_MS = 60_000  # how long one process waits for another's writing
MIGRATION_LOCK = 7_947_622  # any number, the same in all processes (PostgreSQL advisory lock)


@dataclass(frozen=True)
class Catalogue:
    """An open catalogue; safe to use from several threads and processes at once."""

    engine: Engine
    name: str  # path or URL, without password

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A transaction that only reads.

        Raises:
            CatalogueError: the database can't be reached or read.
        """
        with explained(self.name), self.engine.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A transaction: written as a whole when the block ends, or not at all.

        Raises:
            CatalogueError: the database can't be written (read-only, disk full, server gone, …).
        """
        with explained(self.name), self.engine.connect() as connection:
            # SQLite: take the write lock at once, so that no later statement can find it taken.
            connection = connection.execution_options(writes=True)
            with connection.begin():
                yield connection

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a file."""
        return self.engine.dialect.name == "sqlite"


@contextmanager
def explained(name: str) -> Iterator[None]:
    """Turn a database's own error into a `CatalogueError`; let a clash of two writers pass."""
    try:
        yield
    except IntegrityError:
        raise
    except DBAPIError as error:
        raise explain(error, name) from error


def open_catalogue(where: str | Path, create: bool = True, whole: bool = False) -> Catalogue:
    """Open a catalogue, making or upgrading it as needed.

    Args:
        where: path of an SQLite file, or a URL (`sqlite:///…`, `postgresql://…`).
        create: make it if it is not there yet.
        whole: look first whether the database is damaged anywhere.

    Raises:
        CatalogueError: it can't be opened, is not a catalogue, is damaged, or is from a newer
            program.
    """
    url = _url(where)
    name = url.render_as_string(hide_password=True)
    if url.get_backend_name() == "sqlite":
        name = _check_file(url.database or "", create)
    try:
        engine = sa.create_engine(url, connect_args=_connect_args(url), pool_pre_ping=True)
    except (ImportError, NoSuchModuleError) as error:
        remedy = 'install it with: pip install "tyremark[postgres]"'
        raise CatalogueError(f"no driver for {name} ({error})", remedy) from error
    if engine.dialect.name == "sqlite":
        _set_up_sqlite(engine)
    catalogue = Catalogue(engine, name)
    try:
        _bring_up(catalogue)
        if whole:
            from reader.catalogue.db.check import assure_whole

            assure_whole(catalogue)
    except BaseException:
        catalogue.close()
        raise
    return catalogue


def _url(where: str | Path) -> sa.URL:
    text = str(where)
    if "://" not in text:
        return sa.URL.create("sqlite", database=text)
    try:
        url = make_url(text)
        backend = url.get_backend_name()
    except (ArgumentError, ValueError) as error:
        remedy = "write it as postgresql://user@server/name or as the path of a file"
        raise CatalogueError(f"{text} is not a database URL", remedy) from error
    if backend in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    if backend != "sqlite":
        remedy = "use the path of a file or a postgresql:// URL"
        raise CatalogueError(f"catalogues are not kept in {backend}", remedy)
    return url


def _check_file(database: str, create: bool) -> str:
    path = Path(database)
    try:
        there = path.exists()
    except (OSError, ValueError) as error:  # a name that no disk can have, or a closed folder
        reason = getattr(error, "strerror", None) or error
        what = f"the catalogue {printable(database)} can't be opened ({reason})"
        raise CatalogueError(what, "check its name and the folder's permissions") from error
    if path.is_dir():
        raise CatalogueError(f"{path} is a folder", "name the file to keep the catalogue in")
    if not there and not create:
        remedy = "name it with --catalogue, or make one with: tyremark bin FOLDER"
        raise CatalogueError(f"there is no catalogue {path}", remedy)
    if not path.absolute().parent.is_dir():
        remedy = "make the folder first or name another place with --catalogue"
        raise CatalogueError(f"the folder of {path} does not exist", remedy)
    if path.is_file():
        _check_length(path)
    return database


def _check_length(path: Path) -> None:
    """Refuse a file that ends before its header says; SQLite misses that of the last page."""
    try:
        with path.open("rb") as file:
            head = file.read(100)
        wal = Path(f"{path}-wal")
        if not head.startswith(b"SQLite format 3\0") or (wal.exists() and wal.stat().st_size):
            return  # no database at all, or its end is still in the log
        page = int.from_bytes(head[16:18]) or 65536
        least = max(page, 1) * int.from_bytes(head[28:32])
        if head[24:28] == head[92:96] and path.stat().st_size < least:  # the count is up to date
            remedy = "bring back a copy, or read the photos into a new catalogue"
            raise CatalogueError(f"the catalogue {path} is damaged: its end is missing", remedy)
    except OSError:  # told when the database is opened
        return


def _connect_args(url: sa.URL) -> dict[str, Any]:
    if url.get_backend_name() == "sqlite":
        return {"timeout": BUSY_MS / 1000}
    return {} if "connect_timeout" in url.query else {"connect_timeout": 10}


def _set_up_sqlite(engine: Engine) -> None:
    @sa.event.listens_for(engine, "connect")
    def _connect(dbapi: Any, _record: Any) -> None:
        dbapi.isolation_level = None  # transactions are begun below, not by the driver
        dbapi.execute(f"PRAGMA busy_timeout={BUSY_MS}")
        _write_ahead(dbapi)
        for pragma in (
            "synchronous=FULL",  # a power cut loses nothing that was reported as written
            "foreign_keys=ON",
            "cache_size=-16384",  # KiB
            "temp_store=MEMORY",
        ):
            dbapi.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _write_ahead(dbapi: Any) -> None:
    """Let readers and a writer work side by side.

    When two processes open a new file at once, each holds what the other needs to switch it, and
    SQLite refuses one of them without waiting (sqlite.org/c3ref/busy_handler.html).
    """
    give_up = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            dbapi.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            busy = error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > give_up:
                raise
        time.sleep(0.02)


def _version(connection: Connection) -> str | None:
    """The database's version; None if it is empty.

    Raises:
        CatalogueError: it holds something else.
    """
    names = set(sa.inspect(connection).get_table_names())
    if "alembic_version" not in names:
        if names & set(schema.metadata.tables) or (names and connection.dialect.name == "sqlite"):
            raise CatalogueError("the database holds something else", "name another database")
        return None
    return connection.scalar(sa.text("SELECT version_num FROM alembic_version"))


def _bring_up(catalogue: Catalogue) -> None:
    with catalogue.read() as connection:
        if _version(connection) == schema.VERSION:
            return
    with catalogue.write() as connection:
        if not catalogue.is_sqlite:
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(MIGRATION_LOCK)))
        if _version(connection) != schema.VERSION:  # another process may have been faster
            _upgrade(connection, catalogue.name)


def _upgrade(connection: Connection, name: str) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.util.exc import CommandError

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        remedy = "update tyremark on this computer; nothing in the catalogue was changed"
        raise CatalogueError(f"{name} was made by a newer tyremark", remedy) from error
