"""The command line in other languages: nothing escapes, keys stay, numbers have their comma."""

import json
import re
import sys
from pathlib import Path

import pytest
import typer

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "catalogue"))
import fake_reader  # noqa: E402
from spoken import outside, speak_brackets  # noqa: E402

from reader import language  # noqa: E402
from reader.cli import bin_run, card, main, part_list  # noqa: E402
from reader.tables import load_tables  # noqa: E402

SAMPLES = Path(__file__).parents[2] / "samples"
WORD = re.compile(r"[A-Za-z]{3,}")
# Sizes, units, codes, names of files and programs, what is typed on a command line.
DATA = re.compile(
    r"--[\w-]+|\.onnx|-bin\b|[\w./-]+\.(?:jpg|db|csv|pdf|svg|png|txt)"
    r"|tyremark(?: \w+)*|\d+x\d+\w*|[A-Z]{2,}"
    r"|\b(?:psi|kPa|bar|inch|nowhere|bananas|parts|lines|hello)\b"
    r"|\b(?:ETRTO|ISO|TSS|depot|attic|Ada|depot|de|moulded|scene|tesseract|SHA|rack)\b"
    r"|a photo: take it again"  # of the stand-in reader
    r"|→ \w+|/\S+|\{\w+\}|[\w-]+ \d+\.\d+[\w.]*|(?:^| )(?:bin|part) \d+"
    r"|\b[0-9A-Z]{5}-[0-9A-Z]{5}\b|\b[0-9a-f]{6,}\b",
    re.MULTILINE,
)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A catalogue with parts that a quick stand-in read, and a person's tyre, rim and tube."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(bin_run, "READ", fake_reader.read)
    monkeypatch.setenv("COLUMNS", "300")
    for part in range(5):
        path = tmp_path / "depot" / f"bin {part % 2}" / f"part {part}" / "0.jpg"
        path.parent.mkdir(parents=True)
        path.write_bytes(f"photo {part} 0".encode())
    (tmp_path / "depot" / "bin 0" / "part 0" / "0.jpg").write_bytes(b"BAD")
    return tmp_path


@pytest.fixture
def spoken(capsys, monkeypatch):
    """Runs a command in a language; its exit status, and all that it printed."""
    import builtins

    def run(*words, name="de", typed=()):
        answers = iter(typed)
        monkeypatch.setattr(builtins, "input", lambda *_: next(answers, "q"))
        monkeypatch.setattr(sys, "argv", ["tyremark", "--language", name, *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        language.speak("en")
        said = capsys.readouterr()
        return ended.value.code, said.out + said.err

    return run


def escaped(text):
    """Words of a language that came through no catalogue; sources' titles and notes stay."""
    plain = " ".join(text.split())
    tables = load_tables()
    quoted = {note for row in tables.names for note in (row.note, row.origin) if note}
    for title in sorted({*tables.sources.values(), *quoted}, key=len, reverse=True):
        plain = plain.replace(title, " ")
    left = DATA.sub(" ", outside(plain))
    return left if WORD.search(left) else ""


SIZES = [
    "size 26 x 1 3/8", "size 26 x 1 3/8 --why", "size 37-622 --why", "size 28x1.75", "size 622",
    "size S-6", "size 37-590 26 x 1 1/2", "size --measure-rim '634 mm across' --why", "size 1x2",
    "size 4T-5O7", "fit 37-622 622x19C --why", "fit 28-622 622x23TSS --why", "fit 37-622",
    "fit 622x19C --why", "fit 37-590 597x19C --why", "fit '26 x 1 3/8' 590x22C --why",
    "fit 28-622 622x25C --rim-allows 25-47 --tyre-allows 19-25 --why", "fit 37-622 37-622",
    "fit 28-622 622x30C --why", "fit 28-622 622x19C --tyre-max '85 psi' --rim-max '6 bar'",
    "wheel 28-622 --instead-of 47-584 --gear 46/18 --rim 19 --why", "wheel '26 x 1 3/8'",
    "tube 47-559 --why", "tube 47-559 37/57-559 --hole 6.5 --rim 19", "tube 47-559 28/32-622",
    "slip 622x19C", "slip 28-622 622x19C", "slip '26 x 1 3/8'", "clearance 622x19C --fork 46",
    "clearance 622 --stay 44 --mudguard 45 --height 350 --why", "pressure INFLATE TO 50-85 PSI",
    "pressure 5.5 bar", "pressure 5 bananas", "fit", "fit --nonsense", "frobnicate", "wheel 622",
    "clearance 622x19C", "engines",
]  # fmt: skip


@pytest.mark.parametrize("words", SIZES)
def test_no_sentence_of_a_command_escapes(monkeypatch, spoken, tmp_path, words):
    import shlex

    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")
    speak_brackets(monkeypatch)
    _, said = spoken(*shlex.split(words))
    assert escaped(said) == ""


def test_no_sentence_of_the_depot_escapes(monkeypatch, spoken, bench):
    speak_brackets(monkeypatch)
    monkeypatch.setattr(part_list, "WIDEST", 400)  # nothing cut off
    commands = [
        ["bin", "depot"], ["bin", "depot", "--retry"], ["failures"], ["tally"], ["find"],
        ["tally", "--by", "size", "--beside", "bin"], ["find", "--fits", "622x19C"],
        ["add", "37-622", "--kind", "tyre", "--bin", "rack", "--holes", "9x"],
        ["add", "37-622", "--kind", "tyre", "--bin", "rack", "--condition", "usable", "--made",
         "2009", "--tubeless", "yes", "--pressure-high", "500"],
        ["add", "622x19C", "--kind", "rim", "--bin", "rack", "--holes", "36", "--brake", "rim"],
        ["add", "28/47-622", "--kind", "tube", "--bin", "rack"], ["pairs"], ["missing"],
        ["find", "--fits", "622x19C"], ["find", "--tubes", "37-622"], ["find", "--bin", "nowhere"],
        ["want", "47-507", "--quantity", "2"], ["missing"], ["slip", "622x19C"],
        ["want", "--done", "1"],
        ["labels", "l.pdf"], ["labels", "l.pdf", "--sheet", "1x1"], ["export", "p.csv"],
        ["import", "p.csv", "--dry-run"], ["import", "none.csv"], ["check"], ["part", "NOPE"],
        ["clearance", "622x19C", "--fork", "46"], ["training", "lines"], ["bin", "nowhere"],
    ]  # fmt: skip
    loose = {}
    for words in commands:
        _, said = spoken(*words)
        if escaped(said):
            loose[" ".join(words)] = escaped(said)
    _, said = spoken("review", typed=["hello", "1", "a", "s", "q"])
    loose |= {"review": escaped(said)} if escaped(said) else {}
    code = next(iter(json.loads(spoken("find", "--json")[1])))["code"]
    _, said = spoken("part", code, "--quantity", "2", "--condition", "reject", "--reasons", "cuts")
    loose |= {"part": escaped(said)} if escaped(said) else {}
    assert "\n".join(f"{k} => {re.sub('[░─█]', '', v)}" for k, v in loose.items()) == ""


@pytest.mark.parametrize("name", ["moulded-102.jpg", "worn-801.jpg"])
def test_no_sentence_of_a_card_escapes(monkeypatch, spoken, name):
    speak_brackets(monkeypatch)
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.setattr(card, "WIDE", 5000)  # nothing cut off
    _, said = spoken("read", SAMPLES / name, "--why", "--all")
    assert escaped(re.sub(r"──.*", "", said)) == ""


def test_help_is_translated_and_options_keep_their_names(spoken):
    from reader.cli import app

    _, said = spoken("--help", name="fr")
    assert "Options" in said and "--language" in said and "Read the size" not in said
    names = list(typer.main.get_command(app).commands)
    for name in names:
        status, said = spoken(name, "--help", name="nl")
        assert status == 0 and "--help" in said and "Show this message" not in said


def test_json_and_csv_stay_the_same_in_every_language(spoken, bench):
    english = [spoken("fit", "37-622", "622x19C", "--json", name="en")]
    assert [spoken("fit", "37-622", "622x19C", "--json", name=name) for name in ("de", "nl")] == (
        english * 2
    )
    spoken("add", "37-622", "--kind", "tyre", "--bin", "rack", "--condition", "to look at")
    spoken("export", "a.csv", name="es")
    assert "to look at" in Path("a.csv").read_text() and "bsd_mm" in Path("a.csv").read_text()


def test_the_language_is_asked_for_by_option_or_environment(spoken, monkeypatch):
    assert "Felge" in spoken("fit", "37-590", "597x19C", name="de")[1]
    monkeypatch.setattr(sys, "argv", ["tyremark"])
    assert "jante" in spoken("fit", "37-590", "597x19C", "--language", "fr", name="en")[1]
    status, said = spoken("size", "37-622", name="xx")
    assert status == 4 and "en, de, es, fr, nl" in said
    from reader.cli import speaking

    monkeypatch.setenv("TYREMARK_LANGUAGE", "nl_NL.UTF-8")
    assert speaking.asked(["size", "37-622"]) == "nl"
    assert speaking.asked(["size", "--language=de-AT"]) == "de"
    assert speaking.asked(["add", "--", "--language", "fr"]) == "nl"
    monkeypatch.delenv("TYREMARK_LANGUAGE")
    monkeypatch.setenv("LANG", "de_DE.UTF-8")
    assert speaking.asked([]) == "en", "the system's language is not asked"


def test_numbers_have_the_comma_and_sizes_keep_their_point(spoken):
    _, said = spoken("pressure", "5.5 bar", name="de")
    assert "5,50 bar" in said and "79,8 psi" in said
    _, said = spoken("size", "47-559", name="de")
    assert "26 x 1.75" in said
    assert "5.50 bar" in spoken("pressure", "5.5 bar", name="en")[1]


def test_every_sentence_is_found_again_by_its_own_pattern(monkeypatch):
    """Filled in, a sentence must not be taken for another one that happens to match, too."""
    speak_brackets(monkeypatch)
    wrong = []
    with language.use("de"):
        for one in language.patterns("de"):
            shape = re.sub("[⟦⟧]", "", one.translated)
            filled = language.PLACE.sub("Q7", shape)
            told = language.said(filled)
            if outside(told).replace("Q7", "").strip():
                wrong.append((shape, told))
    assert wrong == []
