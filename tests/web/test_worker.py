"""What the reading process does with the bytes, here in this process."""

from pathlib import Path

import numpy as np
import pretend
import pytest
from PIL import Image
from seen import line, marking

from reader import pipeline
from reader.errors import EngineError
from reader.records import Hypothesis, Marking, Photo, Reading, Region, Size, Strip, Verdict
from reader.selection import around
from reader.sweep.trust import held
from reader.web import strips, sweeping, worker
from reader.web.worker import Source, Task, turned


def quiet(step, share):
    assert 0 <= share <= 1


@pytest.fixture
def numbered():
    return Photo("p", np.arange(4 * 6 * 3, dtype=np.uint8).reshape(4, 6, 3))


@pytest.mark.parametrize(
    ("turn", "way"), [(0, None), (1, Image.ROTATE_270), (2, Image.ROTATE_180), (3, Image.ROTATE_90)]
)
def test_quarter_turns_to_the_right(numbered, turn, way):
    """Against Pillow's transpose, which names turns to the left."""
    picture = Image.fromarray(numbered.pixels)
    wanted = picture if way is None else picture.transpose(way)
    got = turned(numbered, Source(Path(), turn))
    assert np.array_equal(got.pixels, np.asarray(wanted)) and got.box is None


def test_a_box_in_shares_becomes_pixels():
    photo = Photo("p", np.zeros((300, 400, 3), np.uint8))
    assert turned(photo, Source(Path(), 0, (0.1, 0.5, 0.25, 0.2))).box == (40, 150, 100, 60)


def test_the_real_pipeline_is_asked(monkeypatch, tmp_path):
    """Photos, kind, box and market arrive; reading, lines, document and findings come back."""
    asked = {}

    def read(photos, settings=None, progress=None):
        asked.update(photos=photos, market=settings.market)
        progress("reading", 0.5)
        return pretend.sure(photos)

    monkeypatch.setattr(pipeline, "read", read)
    good, bad = tmp_path / "good", tmp_path / "bad"
    good.write_bytes(pretend.photo(pretend.RED))
    bad.write_bytes(b"\xff\xd8\xff")
    sources = (Source(good, 1, (0.1, 0.1, 0.5, 0.5)), Source(bad))
    outcome = worker.read_part(Task(sources, tmp_path, "tyre", "japan"), quiet)
    assert [photo.part for photo in asked["photos"]] == ["tyre"]
    assert asked["photos"][0].shape == (1200, 900) and asked["photos"][0].box == (90, 120, 450, 600)
    assert asked["market"] == "japan"
    assert outcome.pictures[1].error and not outcome.pictures[0].error
    assert outcome.document["size"] == "47-507" and outcome.findings.verdict == "sure"
    assert [line.text for line in outcome.lines] == ["47-507", "24 x 1.75"]
    assert outcome.lines[0].diameters == (507,)
    assert all(marking.hypothesis is None for marking in outcome.reading.markings)
    assert {path.name for path in tmp_path.iterdir()} == {
        "good",
        "bad",
        "1.jpg",
        "1-view.jpg",
        "1-thumb.webp",
        "line-1.jpg",
        "line-2.jpg",
    }


def test_tyre_and_rim_of_one_look_keep_their_places_until_they_are_compared(tmp_path):
    """507 on 507, lines of their own: both are seen, though their letters have the same numbers."""
    photo = Photo("photo 1", np.zeros((900, 1200, 3), np.uint8))
    tyre = marking(line("47-507", photo=photo), "iso_pair", {"width_mm": 47, "bsd_mm": 507})
    numbers = {"bsd_mm": 507, "width_mm": 21, "kind": "C", "order": "bsd"}
    rim = marking(line("507x21C", photo=photo, y=300.0), "rim", numbers)

    def told(*seen):
        reading = Reading((), Verdict.NONE, markings=seen)
        return worker.outcome_of(reading, [photo], [], tmp_path)

    both, alone = told(tyre, rim), told(rim)
    assert both.wheel_seen and "47-507 / 21-507" in both.wheel[0]
    assert not alone.wheel_seen and "photograph the tyre" in alone.wheel[0]


def test_a_photo_is_read_for_real(tmp_path):
    """A shipped sample; its truth stands in samples/labels.csv."""
    photo = Path(__file__).parents[2] / "samples" / "stamped-304.jpg"
    outcome = worker.read_part(Task((Source(photo),), tmp_path, "rim"), quiet)
    assert outcome.reading.best.size == Size(507, 13)
    line = next(line for line in outcome.lines if "507" in line.text)
    assert line.diameters == (507,)
    assert Image.open(tmp_path / line.picture).height == strips.STRIP_HEIGHT
    assert outcome.findings.strip and outcome.findings.rim_kind == "TSS"


def test_a_clips_looks_are_weighed_again_when_a_still_is_added(tmp_path):
    """The clip's truth is drawn; the added still is a picture of nothing."""
    root = Path(__file__).parents[2]
    first, second, third = (tmp_path / name for name in ("first", "second", "third"))
    for folder in (first, second, third):
        folder.mkdir()
    clip = root / "fixtures" / "clips" / "h264.mp4"
    alone = worker.read_part(Task((Source(clip),), first), quiet)
    still = tmp_path / "still"
    still.write_bytes(pretend.photo(pretend.GREY, text=""))
    both = worker.read_part(Task((Source(first / "1.jpg"), Source(still)), second), quiet)
    assert both.reading.best.size == alone.reading.best.size
    assert both.reading.best.probability <= alone.reading.best.probability + 0.02
    assert both.reading.photos == ("photo 1", "photo 2")
    assert all(not line.picture or line.photo == 2 for line in both.lines)
    last = worker.read_part(Task((Source(second / "1.jpg"),), third, "tyre"), quiet)
    assert last.reading.best.size.bsd == alone.reading.best.size.bsd
    turned_one = Source(first / "1.jpg", turn=2)
    assert sweeping.kept_looks(turned_one) is None and sweeping.kept_looks(Source(still)) is None


def test_a_sweep_that_was_not_sure_is_not_made_sure(tmp_path):
    """Also beside a still that shows nothing; two that agree may be sure."""
    photo = Photo("photo 1", np.zeros((900, 1200, 3), np.uint8))
    sweep = held(pretend.sure([photo]))
    sweeping.keep_looks(sweep, tmp_path, 1)
    again = sweeping.recalled(tmp_path / "1.open", "photo 1", "tyre", "world")
    assert again.best.size == Size(507, 47) and again.verdict is not Verdict.SURE
    nothing = Reading((), Verdict.NONE)
    assert sweeping.joined([again, nothing], (), "tyre", "world").verdict is not Verdict.SURE


def test_an_engine_that_fails_is_told(monkeypatch, tmp_path):
    def read(*_):
        raise EngineError("no reading engine works", "install one")

    monkeypatch.setattr(pipeline, "read", read)
    photo = tmp_path / "photo"
    photo.write_bytes(pretend.photo(pretend.RED))
    outcome = worker.read_part(Task((Source(photo),), tmp_path), quiet)
    assert (outcome.error, outcome.remedy) == ("no reading engine works", "install one")
    assert outcome.reading is None and outcome.pictures[0].view


def test_a_large_photo_is_shown_small_and_kept_large(tmp_path):
    kept = worker.write_picture(np.zeros((3000, 4000, 3), np.uint8), tmp_path, 1)
    assert (kept.width, kept.height) == (4000, 3000)
    assert Image.open(tmp_path / kept.full).size == (4000, 3000)
    assert Image.open(tmp_path / kept.view).size == (1400, 1050)


def test_a_long_strip_is_cut_to_the_marking():
    text = "x" * 40 + "47-507" + "x" * 54
    strip = Strip(
        Region(Photo("p", np.zeros((9, 9, 3), np.uint8)), np.zeros((2, 2)), 1.0),
        np.tile(np.arange(2000, dtype=np.uint16) // 8, (40, 1)).astype(np.uint8),
    )
    marking = Marking("iso_pair", "47-507", {}, (40, 46), 0.0, Hypothesis("e", text, 1.0, strip))
    cut = around(marking)
    assert cut.shape == (40, 120 + 160) and cut[0, 0] == (800 - 80) // 8


def test_warming_up_never_fails(monkeypatch):
    def read(*_):
        raise EngineError("nothing there")

    monkeypatch.setattr(pipeline, "read", read)
    worker.warm_up()
