"""Whole readings of a printed line; the size it means is ISO 5775's own worked pair 37-622."""

from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from reader.errors import EngineError, InputError
from reader.pipeline import Settings, read, read_files
from reader.records import Photo, Size, Verdict

FONT = Path(mpl.get_data_path(), "fonts", "ttf", "DejaVuSans-Bold.ttf")
ONE_ENGINE = Settings(engines=("moulded",))


def label(text, name="label.png", size=(480, 640)):
    """A worn plate: one line of light letters on rough dark ground."""
    image = Image.new("L", size[::-1], 60)
    spot = (size[1] // 2, size[0] // 2)
    ImageDraw.Draw(image).text(spot, text, 190, ImageFont.truetype(str(FONT), 44), anchor="mm")
    noise = np.random.default_rng(3).normal(0, 5, size)
    grey = np.clip(np.asarray(image) + noise, 0, 255).astype(np.uint8)
    return Photo(name, np.repeat(grey[..., None], 3, 2), "tyre")


@pytest.fixture(scope="module")
def clear():
    return read([label("37-622")], ONE_ENGINE)


def test_a_clear_pair_is_read_as_its_size(clear):
    assert clear.best is not None
    assert clear.best.size == Size(622, 37)
    assert clear.verdict in (Verdict.SURE, Verdict.LIKELY)
    assert clear.part == "tyre"


def test_the_answer_can_be_walked_back_to_the_photo(clear):
    assert clear.photos == ("label.png",)
    marking = next(one for one in clear.markings if one.notation == "iso_pair")
    region = marking.hypothesis.strip.region
    assert region.photo.name == "label.png"
    assert np.hypot(*(region.centreline.mean(0) - (320, 240))) < 60
    assert any(region.photo is other.photo for other in clear.regions)
    assert clear.best.evidence
    assert clear.seconds > 0


def test_a_bare_wall_has_no_size():
    told = read([label("")], ONE_ENGINE)
    assert told.verdict is Verdict.NONE
    assert told.best is None
    assert told.advice


def test_a_pressure_alone_is_no_size():
    told = read([label("MAX 65 PSI")], ONE_ENGINE)
    assert told.verdict in (Verdict.NONE, Verdict.CANT_TELL)


def test_two_photos_of_a_part_are_read_together():
    told = read([label("MAX 65 PSI", "one"), label("37-622", "two")], ONE_ENGINE)
    assert told.photos == ("one", "two")
    assert told.best is not None and told.best.size == Size(622, 37)


def test_two_sizes_on_one_part_are_not_told_as_sure():
    told = read([label("37-622", "one"), label("47-507", "two")], ONE_ENGINE)
    assert told.verdict is not Verdict.SURE
    assert told.contradictions


def test_progress_only_grows_and_ends_at_one():
    told = []
    read([label("37-622", "a"), label("37-622", "b")], ONE_ENGINE, lambda *step: told.append(step))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_every_stage_is_written(tmp_path):
    settings = Settings(engines=("moulded",), stages=tmp_path / "steps")
    read([label("37-622")], settings)
    steps = {path.name.split("-")[1] for path in (tmp_path / "steps").iterdir()}
    assert {"photo", "regions", "strips", "answer"} <= steps


def test_files_are_read_like_photos(tmp_path, clear):
    path = tmp_path / "label.png"
    Image.fromarray(label("37-622").pixels).save(path)
    told = read_files([path], "tyre", settings=ONE_ENGINE)
    assert told.best is not None and told.best.size == clear.best.size


def test_an_engine_that_is_not_there_is_told():
    with pytest.raises(EngineError):
        read([label("37-622")], Settings(engines=("magic",)))


def test_a_market_that_is_not_there_is_told():
    with pytest.raises(InputError):
        read([label("37-622")], Settings(engines=("moulded",), market="moon"))
