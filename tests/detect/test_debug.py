"""Numbered pictures of each step; files are opened again with Pillow."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from reader.detect.debug import StageWriter, stacked
from reader.errors import PhotoError
from reader.photo.enhance import VARIANTS
from reader.photo.rectify import straighten
from reader.records import Photo, Reading, Region, Verdict


@pytest.fixture
def photo():
    rng = np.random.default_rng(2)
    return Photo("left side/DSC 01.jpg", rng.integers(40, 200, (240, 320, 3), np.uint8))


@pytest.fixture
def region(photo):
    return Region(photo, np.array([[40, 120], [280, 120]], np.float32), 40)


def opened(path):
    with Image.open(path) as image:
        return np.asarray(image.convert("RGB"))


def test_pictures_are_numbered_in_the_order_of_the_steps(tmp_path, photo, region):
    writer = StageWriter(tmp_path / "new" / "steps")
    strip = straighten(region)
    paths = [
        writer.photo(photo),
        writer.regions(photo, [region]),
        writer.strips(photo, [strip, strip], ["47-507"]),
        writer.variants(strip),
        writer.answer(photo, Reading((), Verdict.NONE)),
    ]
    assert sorted(paths) == paths == sorted((tmp_path / "new" / "steps").iterdir())
    assert [path.name[:2] for path in paths] == ["01", "02", "03", "04", "05"]
    steps = ["photo", "regions", "strips", "variants", "answer"]
    assert [path.name.split("-")[1] for path in paths] == steps
    assert all(opened(path).std() > 1 for path in paths)


def test_names_hold_nothing_that_leaves_the_folder(tmp_path, region):
    for name in ("../../etc/x", "a" * 300, "..", "", "日本.jpg", "C:\\x y.png"):
        photo = Photo(name, np.zeros((8, 8, 3), np.uint8))
        path = StageWriter(tmp_path).photo(photo)
        assert path.resolve().parent == tmp_path.resolve()
        assert len(path.name) < 100


def test_every_variant_is_on_the_card(tmp_path, region):
    strip = straighten(region)
    height = opened(StageWriter(tmp_path).variants(strip)).shape[0]
    assert height == len(VARIANTS) * (96 + 24 + 4)


def test_no_strips_still_make_a_picture(tmp_path, photo):
    assert opened(StageWriter(tmp_path).strips(photo, [])).shape == (40, 400, 3)


def test_stacked_pictures_stand_below_each_other_and_are_cut_to_size():
    one, two = np.full((10, 30, 3), 50, np.uint8), np.full((20, 900, 3), 90, np.uint8)
    both = stacked([one, two], widest=100)
    assert both.shape == (38, 100, 3)
    assert (both[:10, :30] == 50).all() and (both[:10, 30:] == 0).all()
    assert (both[14:34] == 90).all()
    assert stacked([two] * 9, tallest=50).shape[0] == 50


def test_a_folder_that_can_not_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(PhotoError, match="can't be made"):
        StageWriter(tmp_path / "file")
