"""A catalogue as an earlier program left it (fixtures/catalogues) is brought up without loss."""

import shutil
import sqlite3
from pathlib import Path

import pytest

from reader.catalogue import open_catalogue, review_item, search, tally, write_list
from reader.catalogue.db import schema

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
