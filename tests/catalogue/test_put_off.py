"""A photo's own fault is remembered; circumstances are not, and the same command goes on."""

import json
import shutil
from pathlib import Path

import fake_reader
import pytest
import sqlalchemy as sa
from typer.testing import CliRunner

from reader.catalogue import open_catalogue
from reader.catalogue.db import schema
from reader.catalogue.db.canonical import dump
from reader.catalogue.intake import jobs
from reader.catalogue.intake.intake import Choices, failed_photos, take_in
from reader.catalogue.intake.jobs import Job, Outcome, read_job
from reader.cli import app
from reader.errors import EngineError, InputError
from reader.ocr import ENGINES, stamp
from reader.ocr.tesseract import Tesseract

SAMPLE = Path(__file__).parents[2] / "samples" / "printed-120.jpg"


class Through(fake_reader.Here):
    """Reads in this process by any function."""

    def __init__(self, read) -> None:
        super().__init__()
        self._read = read

    def submit(self, job: Job) -> None:
        self.jobs.append(job)
        self._done.append((job, self._read(job)))


def test_what_is_put_off_is_read_by_the_same_command(catalogue, make_bin) -> None:
    root = make_bin(3, 1)
    before = list(dump(catalogue))
    tally = take_in(catalogue, [root], Through(lambda _: Outcome(None, {}, "the disk is gone")))
    assert (tally.parts, tally.failed, len(tally.put_off)) == (0, [], 3)
    assert tally.put_off[0].reason == "the disk is gone"
    kept = [line for line in dump(catalogue) if '"table": "files"' not in line]
    assert kept == before, "nothing is remembered but that the files were seen"
    assert take_in(catalogue, [root], fake_reader.Here()).parts == 3


def test_a_folder_that_vanishes_is_no_fault_of_its_photos(catalogue, make_bin) -> None:
    root = make_bin(2, 1)

    def read(job: Job) -> Outcome:
        shutil.rmtree(root, ignore_errors=True)
        return read_job(job)

    tally = take_in(catalogue, [root], Through(read))
    assert (len(tally.put_off), tally.failed) == (2, [])
    assert failed_photos(catalogue) == []


def test_a_photo_that_changes_while_it_is_read_is_put_off(make_bin) -> None:
    photo = next(make_bin(1, 1).rglob("*.jpg"))
    ref = jobs.PhotoRef("0" * 40, str(photo), photo.name)
    assert "changed while" in read_job(Job("x", (ref,))).put_off


def test_a_fault_in_the_program_stops_one_part_and_is_not_the_photos(make_bin, monkeypatch) -> None:
    def broken(*_args, **_more):
        raise ZeroDivisionError("of ours")

    monkeypatch.setattr("reader.pipeline.read", broken)
    outcome = read_job(job_of(SAMPLE))
    assert outcome.failures == {} and "ZeroDivisionError: of ours" in outcome.put_off


def job_of(path: Path) -> Job:
    from reader.catalogue.intake.photofile import photo_ref

    return Job(str(path.parent), (photo_ref(path),))


def test_a_photo_that_is_none_is_remembered_with_its_remedy(catalogue, tmp_path) -> None:
    folder = tmp_path / "bin" / "part"
    folder.mkdir(parents=True)
    (folder / "a.jpg").write_bytes(b"no picture at all")
    take_in(catalogue, [tmp_path / "bin"], Through(read_job))
    (failed,) = failed_photos(catalogue)
    with catalogue.read() as connection:
        row = connection.execute(sa.select(schema.photos)).mappings().one()
    assert row["remedy"] and failed.reason == f"{row['reason']}: {row['remedy']}"
    assert take_in(catalogue, [tmp_path / "bin"], Through(read_job)).put_off == []


def run(*words: object):
    return CliRunner().invoke(app, [*map(str, words)])


@pytest.mark.parametrize(
    ("options", "error", "message"),
    [
        (["--by", "colour"], InputError, "--by 'colour'"),
        (["--part", "wheel"], InputError, "--part 'wheel'"),
        (["--condition", "worn"], InputError, "condition 'worn'"),
    ],
)
def test_options_are_checked_before_the_first_photo(
    make_bin, tmp_path, options, error, message
) -> None:
    result = run("bin", make_bin(1, 1), "--catalogue", tmp_path / "c.db", *options)
    assert isinstance(result.exception, error) and message in str(result.exception)
    assert not (tmp_path / "c.db").exists()


def test_a_market_that_is_not_known_is_refused_like_any_wrong_option(make_bin, tmp_path) -> None:
    result = run("bin", make_bin(1, 1), "--catalogue", tmp_path / "c.db", "--market", "marz")
    assert result.exit_code == 2 and "'marz'" in result.stderr
    assert not (tmp_path / "c.db").exists()


def test_a_damaged_model_stops_before_the_first_photo(make_bin, tmp_path, monkeypatch) -> None:
    def damaged() -> str:
        raise EngineError("moulded.onnx is damaged", "install it again")

    monkeypatch.setattr("reader.ocr.moulded.Moulded.describe", lambda self: damaged())
    result = run("bin", make_bin(1, 1), "--catalogue", tmp_path / "c.db")
    assert isinstance(result.exception, EngineError)
    assert not (tmp_path / "c.db").exists()


def test_what_lacked_an_engine_is_read_again_once_it_is_back(catalogue, make_bin) -> None:
    root, names = make_bin(3, 1), tuple(kind.name for kind in ENGINES)

    def poorly(job: Job) -> Outcome:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Tesseract, "describe", gone)
            stamp._wanting.cache_clear()
            outcome = fake_reader.read(job)
        stamp._wanting.cache_clear()
        return outcome

    def gone(self: Tesseract) -> str:
        raise EngineError("Tesseract is missing")

    take_in(catalogue, [root], Through(poorly))
    with catalogue.read() as connection:
        kept = connection.execute(sa.select(schema.readings)).mappings().all()
    assert {row["wanting"] for row in kept} == {"tesseract"}
    assert json.loads(kept[0]["engines"])["numpy"]
    still = Choices(working=tuple(name for name in names if name != "tesseract"))
    assert take_in(catalogue, [root], fake_reader.Here(), still).parts == 0
    back = take_in(catalogue, [root], fake_reader.Here(), Choices(working=names))
    assert (back.parts, back.parts_known) == (3, 0)
    assert take_in(catalogue, [root], fake_reader.Here(), Choices(working=names)).parts == 0


def test_all_failures_can_be_seen(tmp_path) -> None:
    folder = tmp_path / "bin"
    for number in range(25):
        (folder / f"part {number}").mkdir(parents=True)
        (folder / f"part {number}" / "a.jpg").write_bytes(b"BAD %d" % number)
    catalogue = open_catalogue(tmp_path / "c.db")
    take_in(catalogue, [folder], fake_reader.Here())
    result = run("failures", "--catalogue", tmp_path / "c.db", "--csv", tmp_path / "f.csv")
    assert result.exit_code == 3 and result.output.count("not a photo: take it again") == 25
    assert len((tmp_path / "f.csv").read_text().splitlines()) == 26
