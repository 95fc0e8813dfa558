"""A PostgreSQL server of its own in a temporary folder, for tests and measurements.

It is made from the programs in Debian's package, talks over a socket in that folder only, and is
taken away again. The wheel leaves this file out.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from reader.errors import CatalogueError

USER = "postgres"  # PostgreSQL refuses to run as root


@contextmanager
def postgres(sync: bool = True) -> Iterator[str]:
    """URL of the server, with %s for the database's name; use `database` to make one.

    Args:
        sync: whether it waits for the disk, as it would in earnest.

    Raises:
        CatalogueError: PostgreSQL's programs are not there.
    """
    user = USER if os.geteuid() == 0 else None
    programs = _programs()
    with tempfile.TemporaryDirectory() as folder:
        if user:
            shutil.chown(folder, user)
        data = f"{folder}/data"
        initdb = [f"{programs}/initdb", "-D", data, "-U", "tester", "--auth=trust", "-N"]
        _run([*initdb, "--encoding=UTF8", "--locale=C"], user)
        options = f"-c listen_addresses='' -c unix_socket_directories={folder}"
        options += "" if sync else " -c fsync=off"
        control = [f"{programs}/pg_ctl", "-D", data, "-w"]
        _run([*control, "-o", options, "-l", f"{folder}/log", "start"], user)
        try:
            yield f"postgresql://tester@/%s?host={folder}"
        finally:
            _run([*control, "-m", "immediate", "stop"], user)


def database(server: str, name: str) -> str:
    """URL of a new, empty database on the server."""
    _as_admin(server, f'CREATE DATABASE "{name}"')  # the name is ours
    return server % name


def drop(server: str, name: str) -> None:
    """Take a database away, whoever still uses it."""
    _as_admin(server, f'DROP DATABASE "{name}" WITH (FORCE)')


def _as_admin(server: str, command: str) -> None:
    import psycopg

    with psycopg.connect(server % "postgres", autocommit=True) as connection:
        connection.execute(command.encode())


def _programs() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    initdb = str(found[-1]) if found else shutil.which("initdb")
    if initdb is None:
        raise CatalogueError(
            "PostgreSQL's server programs are not here",
            "apt-get install postgresql, or without root unpack that package and put its bin "
            "folder on PATH (see README, Tests)",
        )
    return Path(initdb).parent


def _run(command: list[str], user: str | None) -> None:
    subprocess.run(
        command, user=user, check=True, capture_output=True, cwd="/", env={"LC_ALL": "C"}
    )
