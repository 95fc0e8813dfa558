"""Damaged catalogues are noticed, whole ones are not accused, copies are whole."""

import sqlite3
from pathlib import Path

import pytest
from typer.testing import CliRunner

from reader.catalogue import Place, add_part, get_part, open_catalogue
from reader.catalogue.db.canonical import dump
from reader.catalogue.db.check import assure_whole, troubles
from reader.catalogue.io.backup import backup
from reader.cli import app
from reader.errors import CatalogueError
from reader.records import Size
from reader.train.bench import damage


@pytest.mark.parametrize("name", damage.DAMAGES)
def test_every_command_notices_a_damaged_catalogue(name, tmp_path) -> None:
    assert all(damage.noticed(tmp_path, name).values())


def test_a_whole_catalogue_is_not_accused(catalogue) -> None:
    add_part(catalogue, size=Size(507, 47), kind="tyre", condition="reject", reasons="cracks")
    assert_no_trouble(catalogue)


def assert_no_trouble(catalogue) -> None:
    assure_whole(catalogue)
    assert list(troubles(catalogue)) == []


def test_check_tells_values_that_no_program_writes(tmp_path) -> None:
    catalogue = open_catalogue(tmp_path / "parts.db")
    part = add_part(catalogue, size=Size(507, 47), kind="tyre")
    with sqlite3.connect(tmp_path / "parts.db") as connection:
        connection.execute("UPDATE parts SET kind = 'wheel', quantity = -4")
    told = list(troubles(catalogue))
    assert any("kind of 1 parts" in text and part.code in text for text in told)
    assert any("quantity of 1 parts" in text for text in told)


def test_a_copy_holds_everything_and_is_a_catalogue(catalogue, tmp_path) -> None:
    for number in range(5):
        add_part(catalogue, None, (), Place(f"B{number}"), size=Size(507, 47), kind="tyre")
    backup(catalogue, tmp_path / "copy.db")
    assert list(dump(open_catalogue(tmp_path / "copy.db"))) == list(dump(catalogue))
    assert not list(tmp_path.glob("copy.db.part*"))


def test_a_copy_while_another_writes_is_of_one_moment(tmp_path) -> None:
    catalogue = open_catalogue(tmp_path / "parts.db")
    first = add_part(catalogue, size=Size(507, 47), kind="tyre")
    with catalogue.write() as connection:
        connection.exec_driver_sql("UPDATE parts SET note = 'half done'")
        backup(catalogue, tmp_path / "copy.db")
    assert get_part(open_catalogue(tmp_path / "copy.db"), first.code).note == ""


def test_a_copy_that_can_not_be_written_leaves_the_old_one(tmp_path) -> None:
    catalogue = open_catalogue(tmp_path / "parts.db")
    with pytest.raises(CatalogueError, match="folder of .* does not exist"):
        backup(catalogue, tmp_path / "nowhere" / "copy.db")
    with pytest.raises(CatalogueError, match="is the catalogue itself"):
        backup(catalogue, tmp_path / "parts.db")


def run(*words: object):
    return CliRunner().invoke(app, [*map(str, words)])


def test_the_command_tells_a_line_each(tmp_path) -> None:
    where = tmp_path / "parts.db"
    add_part(open_catalogue(where), size=Size(507, 47), kind="tyre")
    result = run("check", "--catalogue", where, "--backup", tmp_path / "copy.db")
    told = dict(line.split(maxsplit=1) for line in result.output.splitlines())
    assert set(told) >= {"catalogue", "photos", "package", "engine", "versions", "disk", "copy"}
    assert told["package"] == "models and tables are whole"
    assert Path(tmp_path / "copy.db").is_file()


def test_the_command_tells_missing_photos_by_its_status(tmp_path, monkeypatch) -> None:
    from reader.cli import check_run

    monkeypatch.setattr(check_run, "_engines", lambda: iter(()))
    where, photo = tmp_path / "parts.db", tmp_path / "a.jpg"
    photo.write_bytes(b"a photo")
    add_part(open_catalogue(where), None, [photo], size=Size(507, 47), kind="tyre")
    assert run("check", "--catalogue", where).exit_code == 0
    photo.unlink()
    result = run("check", "--catalogue", where)
    assert result.exit_code == 3 and "1 of 1 are not where they were read" in result.output
