import csv
import sys
from dataclasses import asdict

import pyarrow.csv
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyarrow import parquet

from reader.catalogue import (
    Place,
    add_part,
    ask_for,
    change_part,
    get_part,
    history,
    open_catalogue,
    read_list,
    search,
    write_list,
)
from reader.catalogue.columns import FACTS
from reader.catalogue.db.canonical import dump
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
    "line\u2028separator, paragraph\u2029separator",
    "carriage\rreturn\r\n and form\x0cfeed, \x1c\x1d\x1e\x85\x0b",
    "\rfirst",
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


def test_a_line_without_code_is_a_new_part_every_time_that_is_meant(catalogue, tmp_path) -> None:
    path = tmp_path / "p.csv"
    path.write_text("kind;bsd_mm;width_mm;quantity\ntyre;622;37,5;\ntyre;622;37,5;\nrim;622;;2\n")
    assert read_list(catalogue, path).new == 3, "two alike are two"
    assert {(part.width, part.quantity) for part in search(catalogue)} == {(37.5, 1), (None, 2)}
    # the same lines in another file and order: noticed, and nothing is written
    other = tmp_path / "other.csv"
    other.write_text("kind,bsd_mm,width_mm,quantity\nrim,622,,2\ntyre,622,37.5,\ntyre,622,37.5,\n")
    with pytest.raises(InputError, match="came in before, on .* from p.csv: .*--again"):
        read_list(catalogue, other)
    assert len(search(catalogue)) == 3
    assert read_list(catalogue, other, again=True).new == 3
    assert len(search(catalogue)) == 6


HEAD = "kind,bsd_mm,width_mm,quantity,probability\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("kind,bsd_mm,width_in\ntyre,622,1.75\n", "unknown columns: width_in.*lengths are in mm"),
        ("kind,bsd_mm,bsd_mm\ntyre,622,622\n", "a column twice"),
        ("kind,width_mm\ntyre,37\n", "lacks the column bsd_mm"),
        ("kind,bsd_mm,bni\ntyre,622,A\n", "unknown columns: bni.*near are bin"),
        (HEAD + 'tyre,622,37,"1,000",1\n', "line 2 of p.csv: quantity '1,000' can mean two"),
        (HEAD + "tyre,622,37,1.000,1\n", "quantity '1.000' can mean two numbers"),
        (HEAD + "tyre,622,37,1.5,1\n", "quantity '1.5' is not a whole number"),
        (HEAD + "tyre,623,37,1,1\n", "line 2 of p.csv: no table knows.*623 mm.*622"),
        (HEAD + "tire,622,37,1,1\n", "kind 'tire': did you mean tyre"),
        ("kind,bsd_mm,note\ntyre,622,a\0b\n", "line 2 of p.csv: note holds the character NUL"),
        ("kind,bsd_mm,condition\nrim,622,worn\n", "condition 'worn'.*good, usable"),
        ("kind,bsd_mm,reasons\nrim,622,crakcs\n", "reasons 'crakcs': did you mean cracks"),
        ("kind,bsd_mm,made\nrim,622,2019-W60\n", "made '2019-W60' is no date.*2019-W23"),
        ("kind,bsd_mm,holes\nrim,622,360\n", "holes 360: give 8 to 144"),
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


def test_a_column_that_is_missing_changes_nothing(catalogue, tmp_path) -> None:
    part = add_part(
        catalogue, None, (), Place("A", "1"), size=Size(507, 47), kind="tyre", note="red", holes=36
    )
    path = tmp_path / "p.csv"
    path.write_text(f"code,quantity\n{part.code},5\n")
    assert read_list(catalogue, path).changed == 1
    now = get_part(catalogue, part.code)
    assert (now.bin, now.shelf, now.note, now.holes, now.quantity) == ("A", "1", "red", 36, 5)
    assert (now.size, now.kind) == (Size(507, 47), "tyre")
    path.write_text(f"code,note,holes\n{part.code},,\n")  # an empty cell empties
    read_list(catalogue, path)
    assert (get_part(catalogue, part.code).note, get_part(catalogue, part.code).holes) == ("", None)


@pytest.mark.parametrize("label", ["⅜eC x1", "wide", "57/37-559"])
def test_a_tube_label_that_means_nothing_is_refused(file_catalogue, tmp_path, label) -> None:
    """No tyre would ever find the tube: as `add` does, with the line and how to write it."""
    tube = add_part(file_catalogue, size=Size(559, 37), kind="tube", tube_label="37/57-559")
    path = tmp_path / "p.csv"
    path.write_text(f"code,tube_label\n{tube.code},{label}\n", encoding="utf-8")
    with pytest.raises(InputError, match="line 2 .*tube_label: .*write for example"):
        read_list(file_catalogue, path)
    with pytest.raises(InputError, match="tube_label: "):
        change_part(file_catalogue, tube.code, tube_label=label)
    assert get_part(file_catalogue, tube.code).tube_label == "37/57-559"


def test_a_part_that_is_not_here_needs_kind_and_size(file_catalogue, tmp_path) -> None:
    path = tmp_path / "p.csv"
    path.write_text("code,bin\n7KQ4M-2XDAB,A\n")
    with pytest.raises(InputError, match="new here .*no kind and bsd_mm"):
        read_list(file_catalogue, path)


def test_dry_run_tells_and_changes_nothing(catalogue, tmp_path) -> None:
    part = add_part(catalogue, None, (), Place("A"), size=Size(507, 47), kind="tyre")
    path = tmp_path / "p.csv"
    path.write_text(f"code,kind,bsd_mm,width_mm,bin\n{part.code},tyre,590,37,B\n,rim,622,19,C\n")
    before = list(dump(catalogue))
    told = read_list(catalogue, path, dry_run=True)
    assert (told.new, told.changed, told.same) == (1, 1, 0)
    assert told.details[0] == "new: 1 x rim 19-622 C"
    assert "bin A → B, bsd 507 → 590, width 47.0 → 37.0" in told.details[1]
    assert list(dump(catalogue)) == before
    assert read_list(catalogue, path).new == 1, "a dry run does not count as brought in"


def test_all_columns_go_out_and_come_in(catalogue, tmp_path) -> None:
    said = {
        "condition": "reject",
        "reasons": "patched, cords showing",
        "made": "2019-W23",
        "depot": "North",
        "holes": 36,
        "erd": 601.5,
        "valve_hole": 8.5,
        "brake": "rim",
        "tubeless": "yes",
        "hookless": "no",
        "direction": "yes",
        "e_bike": "no",
        "pressure_low": 250.0,
        "pressure_high": 500.0,
        "load": 110.0,
        "threads": 60,
        "wear_mark": "yes",
    }
    assert set(said) >= {column.name for column in FACTS}
    part = add_part(catalogue, size=Size(622, 19), kind="rim", rim_kind="TC", **said)
    assert part.reasons == "cords showing, patched"
    for suffix in (".csv", ".parquet"):
        write_list(catalogue, tmp_path / f"out{suffix}")
        other = open_catalogue(tmp_path / f"{suffix}.db")
        assert read_list(other, tmp_path / f"out{suffix}").new == 1
        assert asdict(get_part(other, part.code)) | {"gain": 0} == asdict(part) | {"gain": 0}


def test_nul_is_refused_on_every_database_alike(catalogue) -> None:
    with pytest.raises(InputError, match="NUL"):
        add_part(catalogue, size=Size(507, 47), kind="tyre", note="a\0b")
    part = add_part(catalogue, size=Size(507, 47), kind="tyre")
    with pytest.raises(InputError, match="NUL"):
        change_part(catalogue, part.code, bin="a\0b")
    with pytest.raises(InputError, match="NUL"):
        search(catalogue, text="a\0b")
    with pytest.raises(InputError, match="NUL"):
        ask_for(catalogue, "tyre", 507, note="\0")


def test_without_pyarrow_the_remedy_is_named(file_catalogue, tmp_path, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    add_part(file_catalogue, size=Size(507, 47), kind="tyre")
    with pytest.raises(InputError, match=r"pip install .tyremark\[parquet\]"):
        write_list(file_catalogue, tmp_path / "p.parquet")
    assert write_list(file_catalogue, tmp_path / "p.csv") == 1
