"""`tyremark read`: its options, what it prints and how it ends; the reading itself is played."""

import json
import subprocess
import sys
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from reader import ocr, pipeline
from reader.cli import app
from reader.cli.card import totals
from reader.errors import EngineError, ExitCode, ReaderError
from reader.photo.formats import FORMATS, SUFFIXES
from reader.records import Candidate, Evidence, Fact, Judgement, Marking, Reading, Size, Verdict

SCHEMA = json.loads((files("reader") / "data" / "reading.schema.json").read_text("utf-8"))


def reading(photos, verdict=Verdict.LIKELY, **more) -> Reading:
    size = Candidate(
        Size(507, 47),
        "tyre",
        0.93,
        (Evidence("ISO pair read", "47-507", 4.5, photos[0].name, "scene"),),
        ("24 x 1.75",),
    )
    rival = Candidate(Size(520, 47), "tyre", 0.06)
    found = () if verdict is Verdict.NONE else (size, rival)
    return Reading(found, verdict, "tyre", tuple(photo.name for photo in photos), **more)


@pytest.fixture
def calls(monkeypatch):
    """Plays the pipeline; each call is kept as (photos, settings)."""
    made = []

    def play(photos, settings=None, progress=None):
        made.append((list(photos), settings))
        progress("reading", 0.5)
        return play.answer(photos)

    play.answer = reading
    monkeypatch.setattr(pipeline, "read", play)
    play.calls = made
    return play


@pytest.fixture
def picture(tmp_path):
    def make(name="tyre.jpg", size=(64, 48)):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        noise = np.random.default_rng(1).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
        Image.fromarray(noise).save(path)
        return path

    return make


def run(*words):
    return CliRunner().invoke(app, ["read", *map(str, words)])


def test_a_card_has_eight_short_lines(calls, picture):
    result = run(picture())
    assert result.exit_code == ExitCode.OK
    for text in ("47-507", "24 x 1.75", "likely", "93 %", "not yet measured"):
        assert text in result.stdout
    lines = result.stdout.splitlines()
    assert len(lines) <= 8 and max(map(len, lines)) <= 80
    assert "ISO pair read" not in result.stdout


def test_evidence_and_rivals_are_shown_when_asked_for(calls, picture):
    assert "ISO pair read" in run("--why", picture()).stdout
    everything = run("--all", picture()).stdout
    assert "ISO pair read" in everything and "47-520" in everything


def test_a_card_is_never_too_long(calls, picture):
    text = "a very long sentence that goes on and on, as some advice does, " * 6
    calls.answer = lambda photos: reading(
        photos,
        advice=(text, text),
        contradictions=(text, text),
        cautions=(text, text),
        facts=tuple(Fact("pressure", 400.0, f"{n}-85 PSI", 1.0) for n in range(20)),
        markings=(Marking("iso_pair", "47-507", {}),),
    )
    lines = run(picture("a" * 100 + ".jpg")).stdout.splitlines()
    assert len(lines) <= 8 and max(map(len, lines)) <= 80


def test_first_lines_say_what_matters_most(calls, picture):
    """A motor car's tyre is named as what it is, once; a rim without hooks says so."""
    sentence = "'215/55R16' is a motor vehicle's tyre: no bicycle size."
    car = Judgement("other", 0.9, Verdict.LIKELY)
    calls.answer = lambda photos: reading(photos, Verdict.NONE, advice=(sentence,), kind=car)
    assert run(picture()).stdout.count(sentence) == 1
    rim = Judgement("rim", 1.0, Verdict.SURE)
    facts = (Fact("hookless", True, "HOOKLESS", 0.9),)
    calls.answer = lambda photos: reading(
        photos, diameter=Judgement(622, 0.99, Verdict.SURE), kind=rim, facts=facts
    )
    assert "hookless rim" in run(picture()).stdout.splitlines()[1]


def test_a_folder_ends_with_a_table_and_sure_ones_get_no_card(calls, picture):
    verdicts = iter([Verdict.SURE, Verdict.LIKELY, Verdict.CANT_TELL, Verdict.NONE])
    calls.answer = lambda photos: reading(photos, next(verdicts))
    folder = picture("in/a.jpg").parent
    picture("in/b.jpg"), picture("in/c.jpg"), picture("in/d.jpg")
    said = run(folder).stdout
    assert [line.count("──") > 0 for line in said.splitlines()].count(True) == 3
    counted = "1 sure, 1 likely, 1 can't tell, 1 no size found, 0 failed (by diameter)"
    assert said.splitlines()[-1] == counted
    assert all(name in said for name in ("a.jpg", "b.jpg", "c.jpg", "d.jpg"))


def test_a_part_that_is_no_bicycles_is_counted_as_that():
    car = Reading((), Verdict.NONE, kind=Judgement("other", 0.9, Verdict.LIKELY))
    told = "0 sure, 0 likely, 0 can't tell, 1 no size found, 1 no bicycle's, 2 failed (by diameter)"
    assert totals([car, Reading((), Verdict.NONE)], ["c.jpg", "d.jpg"]) == told


def test_photos_are_read_each_alone_or_together(calls, picture):
    photos = [picture("a.jpg"), picture("b.png")]
    run(*photos)
    assert [len(photos) for photos, _ in calls.calls] == [1, 1]
    run("--together", *photos)
    assert len(calls.calls[-1][0]) == 2


def test_a_folder_stands_for_its_photos_each_alone(calls, picture, tmp_path):
    for name in ("bin/2.jpg", "bin/1.webp", "bin/3.TIFF"):
        picture(name)
    (tmp_path / "bin" / "labels.csv").write_text("x")
    result = run(tmp_path / "bin")
    assert [photos[0].name for photos, _ in calls.calls] == [
        str(tmp_path / "bin" / name) for name in ("1.webp", "2.jpg", "3.TIFF")
    ]
    assert result.exit_code == ExitCode.OK


def test_the_suffixes_of_a_folder_cover_every_format_that_loads():
    """Reference: the endings that Pillow knows for each decoder."""
    known = Image.registered_extensions()
    for kind in FORMATS:
        theirs = {suffix for suffix, decoder in known.items() if decoder == kind.decoder}
        assert set(kind.suffixes) & theirs or kind.decoder == "HEIF"
        assert set(kind.suffixes) <= SUFFIXES


def test_a_folder_without_photos_says_so(calls, tmp_path):
    result = run(tmp_path)
    assert isinstance(result.exception, ReaderError)
    assert "no photos" in str(result.exception)


def test_an_empty_folder_among_others_is_one_line(calls, picture, tmp_path):
    (tmp_path / "empty").mkdir()
    result = run(picture(), tmp_path / "empty")
    assert result.exit_code == ExitCode.BAD_PHOTO
    assert "47-507" in result.stdout and "empty is a folder" in result.stderr


def test_a_bad_file_is_one_line_and_the_others_are_read(calls, picture, tmp_path):
    bad = tmp_path / "notes.jpg"
    bad.write_text("not a picture")
    result = run(bad, picture(), tmp_path / "gone.jpg")
    assert result.exit_code == ExitCode.BAD_PHOTO
    assert "47-507" in result.stdout
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 2
    assert "notes.jpg" in lines[0]
    assert "gone.jpg" in lines[1]


def test_json_keeps_to_the_schema_and_names_the_bad_files(calls, picture, tmp_path):
    result = run("--json", picture(), tmp_path / "gone.jpg")
    data = json.loads(result.stdout)
    jsonschema.validate(data, SCHEMA)
    assert [one["size"] for one in data["readings"]] == ["47-507"]
    assert data["problems"][0]["photo"].endswith("gone.jpg")


def test_json_of_what_was_read_is_printed_even_when_an_engine_fails_later(calls, picture):
    def fail_second(photos):
        if len(calls.calls) == 2:
            raise EngineError("the engine broke", "try another")
        return reading(photos)

    calls.answer = fail_second
    result = run("--json", picture("a.jpg"), picture("b.jpg"))
    assert isinstance(result.exception, EngineError)
    assert len(json.loads(result.stdout)["readings"]) == 1


@pytest.mark.parametrize("verdict", [Verdict.CANT_TELL, Verdict.NONE])
def test_no_size_told_is_status_one_and_advice_is_shown(calls, picture, verdict):
    calls.answer = lambda photos: reading(
        photos,
        verdict,
        advice=("photograph the rim",),
        contradictions=("two lines disagree",),
        cautions=("mind the pressure",),
        calibrated=True,
        markings=(Marking("pressure", "65 PSI", {}),),
    )
    result = run(picture())
    assert result.exit_code == ExitCode.NOTHING_READ
    for text in ("photograph the rim", "two lines disagree", "mind the pressure"):
        assert text in result.stdout
    assert "mm likely" not in result.stdout


def test_options_reach_the_pipeline(calls, picture, tmp_path):
    run(
        *("--part", "Rim", "--box", "1,2,30,4", "--market", "japan", "--engine", "scene"),
        *("--stages", tmp_path / "steps", picture()),
    )
    (photo,), settings = calls.calls[0]
    assert (photo.part, photo.box) == ("rim", (1, 2, 30, 4))
    assert (settings.market, settings.engines) == ("japan", ("scene",))
    assert settings.stages == tmp_path / "steps"


def test_stages_of_several_photos_go_to_folders_of_their_own(calls, picture, tmp_path):
    run("--stages", tmp_path / "steps", picture("x/a.jpg"), picture("y/a.jpg"))
    assert [settings.stages.name for _, settings in calls.calls] == ["a", "a-2"]


@pytest.mark.parametrize(
    "words",
    [
        ("--part", "wheel"),
        ("--box", "1,2,3"),
        ("--box", "1,2,3,x"),
        ("--box", "-1,2,3,4"),
        ("--box", "1,2,0,4"),
        ("--box", "500,500,3,4"),
        ("--engine", "crystal-ball"),
    ],
)
def test_an_option_without_sense_is_refused_with_a_remedy(calls, picture, words):
    result = run(*words, picture())
    assert isinstance(result.exception, ReaderError)
    assert result.exception.remedy
    assert calls.calls == []


def test_a_box_needs_one_photo(calls, picture):
    result = run("--box", "1,2,3,4", picture("a.jpg"), picture("b.jpg"))
    assert "one photo" in str(result.exception)


def test_names_from_files_are_never_markup(calls, picture):
    result = run(picture("[red]x.jpg"))
    assert "[red]x.jpg" in result.stdout


def test_the_overlay_is_a_picture_of_the_photo(calls, picture, tmp_path):
    run("--overlay", tmp_path / "seen", picture())
    with Image.open(tmp_path / "seen" / "tyre.read.jpg") as image:
        assert image.width >= 64


def test_an_overlay_folder_that_cant_be_made_is_one_clear_error(calls, picture):
    photo = picture()
    result = run("--overlay", photo / "inside", photo)
    assert isinstance(result.exception, ReaderError)
    assert "can't write" in str(result.exception)


def test_the_program_itself_ends_with_one_line_and_the_status(tmp_path):
    """Run as a user would, without the test runner in between."""
    (tmp_path / "empty.png").write_bytes(b"")
    code = "from reader.cli import main; main()"
    said = subprocess.run(
        [sys.executable, "-c", code, "read", "gone.jpg", "empty.png"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
    )
    assert said.returncode == ExitCode.BAD_PHOTO
    first, second = said.stderr.splitlines()
    assert first.startswith("tyremark: gone.jpg does not exist: ")
    assert second.startswith("tyremark: empty.png is empty: ")
    assert said.stdout == ""


def test_engines_names_each_with_its_version():
    result = CliRunner().invoke(app, ["engines"])
    assert result.exit_code == ExitCode.OK
    lines = result.stdout.splitlines()
    assert [line.split(":")[0] for line in lines] == [kind.name for kind in ocr.ENGINES]
    assert "onnxruntime" in result.stdout
    assert "tesseract 5" in result.stdout or "tesseract 4" in result.stdout


def test_engines_says_what_to_do_about_a_missing_one(monkeypatch):
    def gone(self):
        raise EngineError("Tesseract is missing", "install it")

    monkeypatch.setattr(ocr.Tesseract, "describe", gone)
    result = CliRunner().invoke(app, ["engines"])
    assert result.exit_code == ExitCode.OK
    assert "tesseract: not in use; Tesseract is missing: install it" in result.stdout
    monkeypatch.setattr(ocr, "ENGINES", [ocr.Tesseract])
    assert CliRunner().invoke(app, ["engines"]).exit_code == ExitCode.ENGINE
