import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # worker processes import fake_reader by name

from reader.catalogue.db.own_server import database, drop, postgres  # noqa: E402
from reader.catalogue.db.store import Catalogue, open_catalogue  # noqa: E402
from reader.errors import CatalogueError  # noqa: E402


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A PostgreSQL server of its own in a temporary folder; gives the URL less the name."""
    try:
        with postgres(sync=False) as server:
            yield server
    except CatalogueError as error:
        pytest.fail(f"{error}; or leave such tests out: pytest -m 'not postgres'", pytrace=False)


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """URL of an empty database."""
    name = f"test_{os.urandom(6).hex()}"
    yield database(postgres_server, name)
    drop(postgres_server, name)


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
