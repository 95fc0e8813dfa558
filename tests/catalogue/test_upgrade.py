"""A catalogue as an earlier program left it (fixtures/catalogues) is brought up without loss."""

import shutil
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from reader.catalogue import open_catalogue, review_item, search, tally, write_list
from reader.catalogue.db import migrations, schema
from reader.catalogue.db.store import _url

FIRST = Path(__file__).parents[2] / "fixtures" / "catalogues" / "v0001.db"


def rows_of(path: Path) -> dict[str, list[dict]]:
    with sqlite3.connect(path) as connection:
        connection.row_factory = sqlite3.Row
        query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        names = [row[0] for row in connection.execute(query)]
        return {
            name: sorted(map(dict, connection.execute(f"SELECT * FROM {name}")), key=repr)
            for name in names
        }


@pytest.fixture
def upgraded(tmp_path):
    path = tmp_path / "parts.db"
    shutil.copy(FIRST, path)
    catalogue = open_catalogue(path)
    yield catalogue, path
    catalogue.close()


def test_every_value_is_still_there(upgraded) -> None:
    _, path = upgraded
    before, after = rows_of(FIRST), rows_of(path)
    assert before["alembic_version"] != after["alembic_version"]
    assert {part["condition"] for part in before["parts"]} == {"worn", "cracked", "usable", ""}
    for table in set(before) - {"alembic_version"}:
        assert len(before[table]) == len(after[table]) > 0, table
        key = [column.name for column in schema.metadata.tables[table].primary_key]
        by_key = {tuple(row[name] for name in key): row for row in after[table]}
        for old in before[table]:
            new = by_key[tuple(old[name] for name in key)]
            for name, value in old.items():
                if table == "parts" and name in ("condition", "note"):
                    continue
                assert new[name] == value, (table, name)
            if table == "parts":
                assert old["note"] in new["note"]
                assert old["condition"] in (new["condition"], new["note"].split("; ")[0])


def test_it_works_on(upgraded, tmp_path) -> None:
    catalogue, _ = upgraded
    parts = search(catalogue, gone=True)
    assert len(parts) == write_list(catalogue, tmp_path / "out.csv") == 10
    assert {part.condition for part in parts} == {"", "usable"}
    assert tally(catalogue)
    assert any(review_item(catalogue, part.code).strip for part in parts)


def made_by_0003(url: str) -> None:
    """A catalogue with three parts as the migrations up to 0003 leave it."""
    engine = sa.create_engine(_url(url))
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        command.upgrade(config, "0003")
        parts = sa.Table("parts", sa.MetaData(), autoload_with=connection)
        texts = {c.name: "" for c in parts.c if not c.nullable and isinstance(c.type, sa.Text)}
        plain = {**texts, "kind": "tyre", "quantity": 1, "gain": 0.0, "skips": 0, "source": None}
        for code, state, verdict, size in (
            ("read", "open", "likely", (622, 37.0)),
            ("said", "accepted", "can't tell", (622, None)),
            ("bare", "open", "none", (None, None)),
        ):
            row = {"code": code, "state": state, "verdict": verdict, "probability": 0.5}
            row |= {"bsd": size[0], "width": size[1]}
            connection.execute(sa.insert(parts).values({**plain, **row}))
        shares = sa.Table("candidates", sa.MetaData(), autoload_with=connection)
        for rank, (bsd, chance) in enumerate(((622, 0.5), (622, 0.25), (590, 0.2))):
            row = {"part": "read", "rank": rank, "kind": "tyre", "bsd": bsd, "width": 37.0}
            connection.execute(sa.insert(shares).values({**row, "probability": chance}))
        row = {"part": "said", "rank": 1, "kind": "tyre", "bsd": 622, "probability": 1.00001}
        connection.execute(sa.insert(shares).values(row))
    engine.dispose()


def test_what_was_as_sure_as_the_whole_size_is_so_in_each_of_its_two(url) -> None:
    made_by_0003(url)
    catalogue = open_catalogue(url)
    found = {
        part.code: (part.bsd_verdict, part.bsd_probability, part.width_verdict)
        for part in search(catalogue)
    }
    catalogue.close()
    assert found == {
        "read": ("likely", 0.75, "likely"), "said": ("sure", 1.0, "none"),
        "bare": ("none", 0.0, "none"),
    }  # fmt: skip
