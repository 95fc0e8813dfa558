import csv

import pyarrow.csv
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyarrow import parquet

from reader.catalogue import (
    Place,
    add_part,
    change_part,
    get_part,
    history,
    open_catalogue,
    read_list,
    search,
    write_list,
)
from reader.catalogue.io.lists import COLUMNS, RISKY, guard, unguard
from reader.errors import CatalogueError, InputError
from reader.records import Size

NASTY = [
    '=HYPERLINK("x")',
    "+1",
    "-1",
    "@sum",
    "\tx",
    "'=1",
    "'tis",
    'a "b", c',
    "line\nbreak",
    "Ö",
]


@pytest.fixture
def filled(catalogue):
    for note in NASTY:
        add_part(catalogue, None, (), Place(note), size=Size(507, 47), kind="tyre", note=note)
    add_part(catalogue, size=Size(622, 19), kind="rim", rim_kind="C", quantity=3)
    return catalogue


@pytest.mark.parametrize("suffix", [".csv", ".parquet"])
def test_out_and_in_again_is_the_same(filled, tmp_path, suffix) -> None:
    path = tmp_path / f"parts{suffix}"
    assert write_list(filled, path) == len(NASTY) + 1
    assert read_list(filled, path).same == len(NASTY) + 1, "nothing changes in the same catalogue"
    other = open_catalogue(tmp_path / "other.db")
    assert read_list(other, path).new == len(NASTY) + 1
    again = tmp_path / f"again{suffix}"
    write_list(other, again)
    if suffix == ".csv":
        assert again.read_bytes() == path.read_bytes()
    assert parquet_rows(other, tmp_path) == parquet_rows(filled, tmp_path)


def parquet_rows(catalogue, tmp_path) -> list:
    write_list(catalogue, tmp_path / "rows.parquet")
    rows = parquet.read_table(tmp_path / "rows.parquet").to_pylist()
    return sorted(rows, key=lambda row: row["code"])


def test_other_libraries_read_the_files(filled, tmp_path) -> None:
    write_list(filled, tmp_path / "p.csv")
    write_list(filled, tmp_path / "p.parquet")
    options = pyarrow.csv.ParseOptions(newlines_in_values=True)
    table = pyarrow.csv.read_csv(tmp_path / "p.csv", parse_options=options)
    assert table.column_names == list(COLUMNS)
    assert table["bsd_mm"].to_pylist().count(507) == len(NASTY)
    schema = parquet.read_schema(tmp_path / "p.parquet")
    assert str(schema.field("width_mm").type) == "double"
    assert b"mm" in schema.field("width_mm").metadata[b"meaning"]


def test_no_cell_can_be_run_as_a_formula(filled, tmp_path) -> None:
    write_list(filled, tmp_path / "p.csv")
    with (tmp_path / "p.csv").open(newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert not [cell for cell in cells if cell.startswith(RISKY)]


@given(st.text())
def test_guard_is_reversible(text) -> None:
    assert unguard(guard(text)) == text
    assert not guard(text).startswith(RISKY)


def test_list_changes_parts_and_corrects_sizes(catalogue, tmp_path) -> None:
    part = add_part(catalogue, None, (), Place("A"), size=Size(507, 47), kind="tyre")
    path = tmp_path / "p.csv"
    path.write_text(f"code,kind,bsd_mm,width_mm,bin\n{part.code},tyre,590,37,B\n")
    assert read_list(catalogue, path).changed == 1
    changed = get_part(catalogue, part.code)
    assert (changed.size, changed.bin, changed.state) == (Size(590, 37), "B", "corrected")
    assert [entry["what"] for entry in history(catalogue, part.code)][-2:] == ["bin", "corrected"]
    assert read_list(catalogue, path).same == 1


def test_new_parts_without_code_come_in_once(catalogue, tmp_path) -> None:
    path = tmp_path / "p.csv"
    path.write_text("kind;bsd_mm;width_mm;quantity\ntyre;622;37,5;\ntyre;622;37,5;\nrim;622;;2\n")
    assert read_list(catalogue, path).new == 3, "two alike are two"
    assert read_list(catalogue, path).same == 3
    assert {(part.width, part.quantity) for part in search(catalogue)} == {(37.5, 1), (None, 2)}


HEAD = "kind,bsd_mm,width_mm,quantity,probability\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("kind,bsd_mm,width_in\ntyre,622,1.75\n", "unknown columns: width_in.*lengths are in mm"),
        ("kind,bsd_mm,bsd_mm\ntyre,622,622\n", "a column twice"),
        ("kind,width_mm\ntyre,37\n", "lacks the column bsd_mm"),
        ("", "lacks the column"),
        (HEAD + "tyre,622,37,1,1\ntyre,62", "line 3 of p.csv has 2 of 5 cells: the file is cut"),
        (HEAD + 'tyre,622,37,1,"1', "line 2 of p.csv can't be read"),
        (HEAD + "tyre,26,1.75,1,1\n", "line 2 of p.csv: a bead seat diameter of 26 mm"),
        (HEAD + "tyre,622,1.75,1,1\n", "line 2 of p.csv: a width of 1.75 mm"),
        (HEAD + "tyre,622 mm,37,1,1\n", "line 2 of p.csv: bsd_mm '622 mm' is not a whole number"),
        (HEAD + "tyre,622,nan,1,1\n", "width_mm 'nan' is not a number"),
        (HEAD + "tyre,622,37,-1,1\n", "quantity -1"),
        (HEAD + "tyre,622,37,1,70\n", "probability 70"),
        (HEAD + "wheel,622,37,1,1\n", "kind 'wheel'"),
        (HEAD + "tyre,,37,1,1\n", "a width_mm without bsd_mm"),
        ("kind,bsd_mm,arrived\ntyre,622,31.5.2026\n", "line 2 of p.csv.*2026-05-31"),
        ("kind,bsd_mm,code\ntyre,622,hello\n", "line 2 of p.csv: 'HELLO'|is no part code"),
    ],
)
def test_bad_lists_are_refused_whole(file_catalogue, tmp_path, text, message) -> None:
    path = tmp_path / "p.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=message):
        read_list(file_catalogue, path)
    assert search(file_catalogue) == [], "nothing of it was brought in"


def test_files_that_are_none(file_catalogue, tmp_path) -> None:
    (tmp_path / "latin.csv").write_bytes(b"kind,bsd_mm,note\ntyre,622,gr\xfcn\n")
    (tmp_path / "half.parquet").write_bytes(b"PAR1 and no more")
    (tmp_path / "list.xls").write_bytes(b"")
    for name, message in (
        ("latin.csv", "not UTF-8"),
        ("half.parquet", "no whole Parquet"),
        ("list.xls", "neither"),
        ("none.csv", "not there"),
    ):
        with pytest.raises(InputError, match=message):
            read_list(file_catalogue, tmp_path / name)


def test_old_list_stays_if_the_new_can_not_be_written(file_catalogue, tmp_path) -> None:
    with pytest.raises(CatalogueError, match="can't be written"):
        write_list(file_catalogue, tmp_path / "nowhere" / "p.csv")
    with pytest.raises(InputError, match="neither"):
        write_list(file_catalogue, tmp_path / "p.txt")


def test_gone_part_keeps_its_line(catalogue, tmp_path) -> None:
    part = add_part(catalogue, size=Size(507, 47), kind="tyre")
    change_part(catalogue, part.code, quantity=0)
    assert write_list(catalogue, tmp_path / "p.csv") == 1
