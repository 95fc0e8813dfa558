"""fit, wheel, tube and pressure as a newcomer types them: words, exit status, length, options."""

from __future__ import annotations

import json
import re

import pytest
import typer

from reader.cli import app
from reader.cli.layout import MORE, WIDTH, Laid, shown, sources, wrapped
from reader.errors import ReaderError
from tests.cli.test_sizes import run

HOOKLESS = "--tubeless --hookless-ok"
ASKED = [  # command line, exit status, what must stand in the answer
    ("fit 37-622 622x19C", 0, "ONLY IN OLDER TABLES"),
    ("fit 622x19C 37-622", 0, "ONLY IN OLDER TABLES"),
    ("fit 25-622 622x19C", 0, "ETRTO 2020 measures tyres of 25 to 28 mm on 19 mm inside"),
    (f"fit 28-622 622x23TSS {HOOKLESS}", 1, "TABLES DISAGREE"),
    (f"fit 28-622 622x25TSS {HOOKLESS}", 1, "NO TABLE IN HAND ALLOWS IT"),
    (f"fit 29-622 622x25TSS {HOOKLESS}", 0, "IN A TABLE OF 2020 OR LATER"),
    ("fit 29-622 622x25TSS", 1, "CAN'T TELL"),
    ("fit 37-590 597x19C", 1, "NEVER"),
    ("fit 700x28C 622x17C", 1, "CAN'T TELL"),
    ("fit 28-622 622x25C --rim-allows 25-47", 0, "ALLOWED BY ITS MAKER"),
    ("fit 28-622 622x25C --rim-allows 25-47 --tyre-allows 19-23", 1, "NEVER"),
    ("fit 622x19C", 0, "in a table of 2020 or later: 25 to 28"),
    ("fit 622x25C", 0, "a hole: 40 to 43 in no table, though 38 and 44 are"),
    ("fit 57-584", 0, "2020 or later: 25"),
    ("fit 700x28C", 0, "if it reads 28-622: rims (C)"),
    ("wheel 28-622 --rim 19 --instead-of 47-584 --gear 46/18", 0, "circumference"),
    ("wheel 35-622", 0, "2168 to 2185 mm"),
    ("tube 47-559", 0, "26x1.75/2.1"),
    ("tube 23-622 28/47-622/635 --hole 6.5 --rim 15", 1, "DOES NOT SUIT"),
    ("tube 40-635 28/47-622/635", 0, "SUITS"),
    ("pressure 80 psi", 0, "5.52 bar"),
    ("pressure INFLATE TO 50-85 PSI", 0, "at most 586 kPa"),
]


@pytest.mark.parametrize(("words", "status", "said"), ASKED, ids=[one[0] for one in ASKED])
def test_answers_in_words_and_json_with_an_exit_status(words: str, status: int, said: str) -> None:
    assert said in run(*words.split(), status=status)
    assert "answer" in json.loads(run(*words.split(), "--json", status=status))


@pytest.mark.parametrize(("words", "status", "_"), ASKED, ids=[one[0] for one in ASKED])
def test_an_answer_is_six_lines_and_the_rest_stands_under_why(words, status, _) -> None:
    short = run(*words.split(), status=status).splitlines()
    assert len(short) <= 1 + MORE
    full = run(*words.split(), "--why", status=status).splitlines()
    assert len(full) >= len([line for line in short if "--why" not in line])
    for line in (*short, *full):
        assert len(line) <= WIDTH, line
        assert not re.search(r"\b\d{6,}\b|github|\(x?[A-Z]{2,3}\d?\)$", line)  # no file ids or keys


def test_why_names_the_sources_in_words() -> None:
    told = run("fit", "25-622", "622x19C", "--why")
    assert "rests on:" in told and "reprinted on a tyre maker's page" in told
    assert "ETRTO 2006 does not allow it: 28 to 62 mm" in told
    assert "Japanese quick table" in run("wheel", "35-622", "--why")


def test_a_name_of_two_sizes_is_answered_for_each() -> None:
    told = run("wheel", "26 x 1 3/8", status=1)
    assert "if it is 590: 37-590" in told and "if it is 597: 37-597" in told
    assert "if it is 590" in run("tube", "26 x 1 3/8", status=1)
    assert "either" in json.loads(run("wheel", "26 x 1 3/8", "--json", status=1))["answer"]
    fit = run("fit", "26 x 1 3/8", "590x19C", status=1)
    assert "37-590 on 590x19C" in fit and "never" in fit


def test_printed_pressures_as_limits() -> None:
    tyre = ("fit", "37-622", "622x19C")
    told = run(*tyre, "--tyre-max", "65-95 PSI", "--rim-max", "MAX 5 BAR")
    assert "at most 500 kPa" in told
    never = run(*tyre, "--tyre-max", "65-95 PSI", "--rim-max", "3 bar", status=1)
    assert "no pressure suits both" in never
    alone = run(*tyre, "--tyre-min", "4 bar", "--rim-max", "3 bar", status=1)
    assert "at least 400 kPa" in alone
    both = run(*tyre, "--tyre-min", "3-5 bar", "--why")
    assert "at most 500 kPa" in both and "at least 300 kPa" in both
    assert "differ on the least" in run("pressure", "220-350 kPa (30-50 PSI)")
    assert "least pressure" in run("pressure", "MIN 3 bar")


def test_wheels_and_tubes_with_everything_asked() -> None:
    told = run("wheel", "28-622", "--instead-of", "28-622", "--why")
    assert "gears stay as they were" in told and "rim brake" in told
    harder = run("wheel", "35-622", "--instead-of", "28-622")  # lists NRW, QT, SBC, SPD
    assert "was 2124 mm, now 2176: gears 2.5 % harder; axle +8 mm" in harder
    easier = run("wheel", "28-622", "--instead-of", "35-622", "--why")
    assert "2.4 % easier" in easier and "too much" in easier
    valve = run("tube", "47-559", "37/57-559 AV", "--hole", "6.5", status=1)
    assert "never drill" in valve
    assert "SUITS" in run("tube", "47-559", "37/57-559 SV", "--hole", "6.5")
    assert "valve: yes" in run("tube", "47-559", "--hole", "8.5", "--rim", "21", "--why")


@pytest.mark.parametrize(
    ("words", "grade"),
    [("270x20", "can't tell: 32"), ("622x100", "none by the tables")],
)
def test_lists_in_which_nothing_is_allowed(words: str, grade: str) -> None:
    assert grade in run("fit", words, status=1)


def test_help_tells_every_option_of_the_readme() -> None:
    fit = typer.main.get_command(app).commands["fit"]  # type: ignore[attr-defined]
    known = {opt for one in fit.params for opt in one.opts}
    assert {"--why", "--rim-allows", "--tyre-allows", "--json"} <= known


def test_lines_never_break_inside_a_size() -> None:
    text = "a tyre sold as 26 x 1 3/8 or 28 x 1 5/8 x 1 3/8 goes on a rim of 19 mm at 5.0 bar " * 9
    for line in wrapped(text):
        assert len(line) <= WIDTH
        assert not re.search(r"(\bx|\b\d|of 19|5\.0)$", line.replace("1 3/8", "")), line
    laid = Laid("head", ["one " * 60, "two"], ["three"])
    assert list(shown(laid, False))[-1] == "  more: --why"
    assert list(shown(laid, True))[-1] == "  three"
    assert list(shown(Laid("head", ["a"]), False)) == ["head", "  a"]
    assert sources(["X, Y"], {"Y": "A page"}) == ["rests on:", "- A page"]
    assert sources(["X"], {}) == []


def test_a_slip_on_screen_and_as_a_page(tmp_path) -> None:
    told = run("slip", "622x25C", "--catalogue", str(tmp_path / "none.db"))
    assert "Never, though it sounds alike" in told and "47 to 57" in told
    assert all(len(line) <= WIDTH for line in told.splitlines())
    assert "if it" not in told
    two = run("slip", "26 x 1 3/8", status=1)
    assert "ask for the number with the hyphen" in two
    page = tmp_path / "slip.pdf"
    assert "1 page" in run("slip", "622x25C", "--pdf", str(page))
    assert page.read_bytes().startswith(b"%PDF")
    assert json.loads(run("slip", "622x25C", "--json"))["answer"]["title"] == "622x25C"
    with pytest.raises(ReaderError, match="can't write"):
        run("slip", "622x25C", "--pdf", str(tmp_path / "no" / "slip.pdf"))


def test_the_largest_tyre_that_a_frame_takes(tmp_path) -> None:
    where = ("--catalogue", str(tmp_path / "bins.db"))
    told = run("clearance", "622x19C", "--fork", "50", "--stay", "48", *where)
    assert "up to 35-622" in told and "perhaps 38-622" in told
    for width in (25, 28, 32):
        run("add", f"{width}-622", "--kind", "tyre", "--bin", "Rack", *where)
    full = run("clearance", "622x19C", "--stay", "48", "--height", "360", "--why", *where)
    assert full.count("Rack") == 3 and "stay under 360 mm" in full
    bare = run("clearance", "622", "--mudguard", "45", *where)
    assert "give the rim" in bare
    data = json.loads(run("clearance", "622x19C", "--stay", "48", "--json", *where))
    assert data["answer"]["room"]["surely"]["size"]["width"] == 35
    none = ("622x25C", "--fork", "36", "--rim-allows", "28-47")
    assert "no tyre on 622x25C" in run("clearance", *none, *where, status=1)
    slip = run("slip", "622x19C", *where)
    assert "Rack: tyre 28-622" in slip


def test_a_name_of_several_sizes_is_listed_for_each() -> None:
    said = run("fit", "26 x 1 3/8", status=1)
    assert said.index("if it reads 37-590") < said.index("if it reads 37-597")
    assert len(json.loads(run("fit", "26 x 1 3/8", "--json", status=1))["answer"]["either"]) >= 2
    with pytest.raises(ReaderError, match="two tyres"):
        run("fit", "650B", "26 x 1 1/2")
    with pytest.raises(ReaderError, match="two rims"):
        run("fit", "622x19C", "622x17C")
