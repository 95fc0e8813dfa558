"""A PostgreSQL server of its own in a temporary folder, for measuring; needs Debian's package."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

USER = "postgres"  # PostgreSQL refuses to run as root


def _run(command: list[str], user: str | None) -> None:
    subprocess.run(
        command, user=user, check=True, capture_output=True, cwd="/", env={"LC_ALL": "C"}
    )


@contextmanager
def postgres(sync: bool = True) -> Iterator[str]:
    """URL of the server, with %s for the database's name; use `database` to make one."""
    user = USER if os.geteuid() == 0 else None
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
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
    import psycopg

    with psycopg.connect(server % "postgres", autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')  # the name is ours
    return server % name
