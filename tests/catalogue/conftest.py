import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # worker processes import fake_reader by name

from reader.catalogue.db.store import Catalogue, open_catalogue  # noqa: E402

MISSING = (
    "This test needs PostgreSQL's server programs: apt-get install postgresql, or without root "
    "unpack that package and put its bin folder on PATH (see README, Tests); or leave such tests "
    "out: pytest -m 'not postgres'."
)
SERVER_USER = "postgres"  # PostgreSQL refuses to run as root


def _programs() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if found:
        return found[-1].parent
    initdb = shutil.which("initdb")
    if initdb is None:
        pytest.fail(MISSING, pytrace=False)
    return Path(initdb).parent


def _as_user(command: list[str], user: str | None) -> None:
    subprocess.run(
        command, user=user, check=True, capture_output=True, cwd="/", env={"LC_ALL": "C"}
    )


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A PostgreSQL server of its own in a temporary folder; gives the URL less the name."""
    user = SERVER_USER if os.geteuid() == 0 else None
    programs = _programs()
    with tempfile.TemporaryDirectory() as folder:
        if user:
            shutil.chown(folder, user)
        data = f"{folder}/data"
        initdb = [f"{programs}/initdb", "-D", data, "-U", "tester", "--auth=trust", "-N"]
        _as_user([*initdb, "--encoding=UTF8", "--locale=C"], user)
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
        control = [f"{programs}/pg_ctl", "-D", data, "-w"]
        _as_user([*control, "-o", options, "-l", f"{folder}/log", "start"], user)
        try:
            yield f"postgresql://tester@/%s?host={folder}"
        finally:
            _as_user([*control, "-m", "immediate", "stop"], user)


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """URL of an empty database."""
    import psycopg

    name = f"test_{os.urandom(6).hex()}"
    admin = postgres_server % "postgres"
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    yield postgres_server % name
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where to keep a catalogue: a file, and a server."""
    if request.param == "sqlite":
        return str(tmp_path / "parts.sqlite")
    return str(request.getfixturevalue("postgres_url"))


@pytest.fixture
def catalogue(url: str) -> Iterator[Catalogue]:
    opened = open_catalogue(url)
    yield opened
    opened.close()


@pytest.fixture
def file_catalogue(tmp_path: Path) -> Iterator[Catalogue]:
    opened = open_catalogue(tmp_path / "parts.sqlite")
    yield opened
    opened.close()


MakeBin = Callable[..., Path]


@pytest.fixture
def make_bin(tmp_path: Path) -> MakeBin:
    """Makes a folder of parts with photos whose content is unique."""

    def make(parts: int = 6, photos: int = 2, name: str = "bin A") -> Path:
        root = tmp_path / "depot" / name
        for part in range(parts):
            folder = root / f"part {part:03}"
            folder.mkdir(parents=True)
            for photo in range(photos):
                (folder / f"{photo}.jpg").write_bytes(f"photo {name} {part} {photo}".encode())
        return root

    return make
