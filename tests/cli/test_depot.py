import json
import re
import sys
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parents[1] / "catalogue"))
import fake_reader  # noqa: E402

from reader.catalogue import history, open_catalogue, search
from reader.cli import app, bin_run  # noqa: E402
from reader.errors import CatalogueError, InputError, ReaderError  # noqa: E402


@pytest.fixture
def depot(tmp_path, monkeypatch):
    """A folder of photos, and the program standing beside it with a quick reader."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(bin_run, "READ", fake_reader.read)
    monkeypatch.delenv("TYREMARK_CATALOGUE", raising=False)
    for part in range(9):
        for photo in range(2):
            path = tmp_path / "depot" / f"bin {part % 2}" / f"part {part}" / f"{photo}.jpg"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(f"photo {part} {photo}".encode())
    return tmp_path


def run(*words, typed: str = "", fails: type[ReaderError] | None = None) -> str:
    result = CliRunner().invoke(app, list(map(str, words)), input=typed)
    if fails is not None:
        assert isinstance(result.exception, fails), result.output
        return str(result.exception)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 0, result.output
    return result.output


def test_from_folder_to_labels(depot) -> None:
    assert "9 parts read, 0 known from before" in run("bin", "depot", "--workers", 2)
    assert "0 parts read, 9 known from before" in run("bin", "depot")
    counted = json.loads(run("tally", "--json", "--plot", "t.png", "--csv", "t.csv"))
    assert sum(line["expected"] for line in counted) == pytest.approx(9)
    assert "Parts by bead seat diameter" in run("tally")
    assert Image.open("t.png").width > 600 and Path("t.csv").read_text().startswith("name,expected")
    run("labels", "l.pdf", "--bin", "bin 1", "--sheet", "70x37")
    assert Path("l.pdf").read_bytes().startswith(b"%PDF")
    found = json.loads(run("find", "--bin", "bin 1", "--json"))
    assert len(found) == 4 and {part["kind"] for part in found} == {"tyre"}
    code = found[0]["code"]
    run("part", code, "--bin", "attic", "--size", "47-507", "--quantity", 2)
    shown = run("part", code)
    assert "47-507" in shown and "checked" in shown and "bin 1 → attic" in shown
    assert "9 parts in p.csv" in run("export", "p.csv")
    assert "0 new, 0 changed, 9 as before" in run("import", "p.csv")
    assert "1 pictures" in run("training", "lines")


def test_review_takes_every_answer(depot) -> None:
    run("bin", "depot")
    said = run("review", typed="1\nhello\n47-507\na\ns\n7\nq\n")
    assert "4 parts looked at" in said and "is no size" in said and "no candidate 7" in said
    states = [part.state for part in search(open_catalogue("catalogue.db"))]
    assert sorted(set(states)) == ["accepted", "again", "corrected", "open"]
    assert "0 parts looked at" in run("review", typed=""), "the end of input stops it"


def test_bad_photos_are_listed_and_tell_by_the_exit_status(depot) -> None:
    (depot / "depot" / "bin 0" / "part 0" / "0.jpg").write_bytes(b"BAD")
    result = CliRunner().invoke(app, ["bin", "depot"])
    assert result.exit_code == 3
    assert "Photos could not be read: 1" in result.output and "not a photo" in result.output
    assert "9 parts read" in result.output


def test_ctrl_c_says_how_to_go_on(depot, monkeypatch, capfd) -> None:
    def stop(*_args, **_more):
        raise KeyboardInterrupt

    monkeypatch.setattr(bin_run, "take_in", stop)
    assert CliRunner().invoke(app, ["bin", "depot"]).exit_code == 130


def test_by_hand_fits_pairs_and_wishes(depot) -> None:
    run("add", "622x19C", "--kind", "rim", "--bin", "W")
    run("add", "37-622", "--kind", "tyre")
    run("add", "28/47-622/635", "--kind", "tube")
    fits = run("find", "--fits", "622x19C")
    assert "only in older tables" in fits.splitlines()[1] and "lower of the two limits" in fits
    assert re.search("622 +rim C", run("find", "--fits", "37-622"))
    assert "28/47-622/635" in run("find", "--tubes", "37-622")
    assert "1 pairs" in run("pairs")
    run("want", "47-507", "--quantity", 2)
    assert "tyre 47-507: 2 asked, 0.0 there" in run("missing")
    run("want", "--done", 1)
    assert "Nothing is asked for" in run("missing")
    assert len(json.loads(run("pairs", "--json"))["pairs"]) == 1
    (found,) = json.loads(run("find", "--fits", "622x19C", "--json"))[:1]
    assert found["grade"] == "only in older tables"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("bin", "nowhere"), "does not exist"),
        (("bin", "depot", "--by", "colour"), "use one of: folder, time, code"),
        (("bin", "depot", "--workers", "0"), "above 0"),
        (("tally", "--by", "colour"), "use one of"),
        (("labels", "l.pdf", "--sheet", "1x1"), "known are"),
        (("labels", "l.pdf", "--own", "1,2"), "ten numbers"),
        (("find", "hello"), "'hello'"),
        (("part", "hello"), "no part code"),
        (("add", "47-507", "--kind", "hub"), "use one of: tyre, rim, tube"),
        (("want", "622", "--width", "wide"), "from-to in mm"),
        (("import", "none.csv"), "not there"),
        (("export", "list.txt"), "neither"),
    ],
)
def test_nonsense_gets_a_clear_error(depot, words, message) -> None:
    run("add", "37-622", "--kind", "tyre")
    assert message in run(*words, fails=InputError)


def test_no_catalogue_yet(depot) -> None:
    for command in (["tally"], ["find"], ["review"], ["export", "x.csv"], ["missing"]):
        assert "tyremark bin FOLDER" in run(*command, fails=CatalogueError)
    assert not Path("catalogue.db").exists()


def test_a_name_of_several_sizes_finds_what_each_means(tmp_path: Path) -> None:
    where = str(tmp_path / "c.db")
    for size in ("37-590", "37-597", "28-622"):
        run("add", size, "--kind", "tyre", "--catalogue", where)
    said = run("find", "26 x 1 3/8", "--catalogue", where)
    assert said.index("if it is 590:") < said.index("37-590") < said.index("if it is 597:")
    assert "28-622" in run("find", "700x28C", "--catalogue", where)
    assert "28-622" in run("find", "--fits", "622x19 TC", "--catalogue", where)


def test_rejects_are_offered_to_nobody_who_does_not_ask(depot) -> None:
    run("add", "622x19C", "--kind", "rim")
    run("add", "28-622", "--kind", "tyre", "--condition", "reject", "--reasons", "cords showing")
    run("add", "37/57-622", "--kind", "tube", "--condition", "to look at")
    assert "Nothing found" in run("find", "--fits", "622x19C")
    assert "Nothing found" in run("find", "--tubes", "40-622")
    assert "0 pairs" in run("pairs")
    told = run("find", "--fits", "622x19C", "--any-condition")
    assert "reject (cords showing)" in told
    assert "to look at" in run("find", "--tubes", "40-622", "--any-condition")
    assert "1 pairs" in run("pairs", "--any-condition")


def test_what_stands_on_a_part_is_said_and_found(depot) -> None:
    run("add", "622x19C", "--kind", "rim", "--holes", "36", "--brake", "rim", "--person", "Ada")
    code = run("add", "622x21TC", "--kind", "rim", "--holes", "32", "--brake", "disc").split()[0]
    found = run("find", "--holes", "36", "--brake", "rim")
    assert "36 holes, rim brake" in found and code not in found
    told = run("part", code, "--condition", "usable", "--made", "2012-W10", "--person", "Bo")
    assert "condition  → usable  by Bo" in told and "made 2012-W10" in told
    assert "holes 32 → " in run("part", code, "--holes", "")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("find", "--state", "acepted"), "did you mean accepted"),
        (("find", "--kind", "tire"), "did you mean tyre"),
        (("find", "--bin", "Rackk A"), "did you mean Rack A"),
        (("find", "--bin", "rack a"), "capitals"),
        (("find", "--depot", "North"), "no part has a depot"),
        (("find", "--holes", "many"), "holes 'many' is not a whole number"),
        (("find", "--brake", "drum"), "use one of: rim, disc"),
        (("pairs", "--bin", "Rackk A"), "did you mean Rack A"),
        (("add", "47-507", "--kind", "tyre", "--quantity", "0"), "a quantity of 0: give 1 or more"),
        (("add", "47-507", "--kind", "tyre", "--quantity", "99999999"), "quantity 1e+08: give"),
        (("add", "47-507", "--kind", "tyre", "--condition", "worn"), "use one of: good, usable"),
    ],
)
def test_names_that_are_not_there_are_told_with_those_near(depot, words, message) -> None:
    run("add", "37-622", "--kind", "tyre", "--bin", "Rack A")
    assert message in run(*words, fails=InputError)


def test_a_list_has_heads_and_is_no_wider_than_the_screen(depot, monkeypatch) -> None:
    run("add", "37-622", "--kind", "tyre", "--bin", "Rack A", "--note", "a long note " * 20)
    for columns, widest in (("70", 70), ("300", 100)):
        monkeypatch.setenv("COLUMNS", columns)
        lines = run("find").splitlines()
        heads = "code size kind state sure place pcs remarks"
        assert lines[0].split() == heads.split()
        assert lines[0].index("place") == lines[1].index("Rack A"), "under each other"
        assert max(map(len, lines)) <= widest
        assert "by hand" in lines[1] and "none" not in lines[1]


def test_a_foreign_part_is_shown_as_such_and_not_counted(depot) -> None:
    code = run("add", "37-622", "--kind", "tyre").split()[0]
    assert "foreign" in run("part", code, "--foreign", "--person", "Ada")
    run("add", "622x19C", "--kind", "rim")
    assert "Nothing found" in run("find", "--fits", "622x19C", "--any-condition")
    assert "37-622" not in run("tally") and "foreign" in run("find", "--state", "foreign")


def test_review_steps_back_and_says_who(depot) -> None:
    run("bin", "depot", "--workers", 2)
    said = run("review", "--person", "Ada", "--picture", "strip.png", typed="1\nb\n47-507\nq\n")
    assert "1 parts looked at" in said and Path("strip.png").read_bytes().startswith(b"\x89PNG")
    (part,) = search(open_catalogue("catalogue.db"), state="corrected")
    told = [
        (one["what"], one["person"]) for one in history(open_catalogue("catalogue.db"), part.code)
    ]
    assert told[-3:] == [("accepted", "Ada"), ("reopened", "Ada"), ("corrected", "Ada")]
    assert "This is the first one" in run("review", typed="b\nq\n")


def test_review_asks_after_ten_whether_to_go_on(depot, monkeypatch) -> None:
    from reader.cli import review_run

    monkeypatch.setattr(review_run, "A_SITTING", 2)
    run("bin", "depot", "--workers", 2)
    assert "2 parts looked at" in run("review", typed="s\ns\nq\n")
    assert "3 parts looked at" in run("review", typed="s\ns\n\ns\nq\n")


def test_a_bin_that_is_not_there_leaves_no_catalogue(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "does not exist" in run("bin", "nowhere", fails=InputError)
    assert list(tmp_path.iterdir()) == []


def test_what_was_typed_steers_no_terminal(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    words = ("47-507", "--kind", "tyre", "--note", "one\ntwo\x1b[31m", "--bin", "a\x07b\nc")
    shown = run("add", *words)
    code = shown.split()[0]
    for text in (shown, run("find", "47-507"), run("part", code)):
        assert not any(sign in text for sign in "\x1b\x07"), text
        assert "\nc" not in text and "\ntwo" not in text


def test_without_a_kind_and_nobody_to_ask_the_remedy_is_told(depot) -> None:
    assert "add --kind tyre" in run("add", "47-507", fails=InputError)
    assert "tyre" in run("add", "47-507", typed="tyre\n")


def test_a_tube_label_that_means_nothing_is_refused(depot) -> None:
    add = ("add", "47-507", "--kind", "tube", "--tube-label")
    assert "37/57-559" in run(*add, "⅜eC x1", fails=InputError)
    code = run(*add, "47/57-507").split()[0]
    assert "37/57-559" in run("part", code, "--tube-label", "wide", fails=InputError)
    assert "47/57-507" in run("part", code)
