"""Photographs: what is written on rims, the size line in view, and what is done to them last."""

from dataclasses import replace

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from reader.train.render import finish
from reader.train.render import words as names
from reader.train.render.kinds import RECIPES
from reader.train.render.noise import NoiseBank
from reader.train.render.photos import shoot
from reader.train.render.texts import draw_line

LINE = np.array([[40, 90], [160, 90], [160, 110], [40, 110]], np.float32)


@pytest.fixture(scope="module")
def world():
    chance = torch.Generator().manual_seed(1)
    return torch.rand(2, 32, 32, generator=chance), NoiseBank(5, per_kind=1)


@pytest.mark.parametrize("name", ["decal", "stamped", "engraved", "tiny", "magnifier"])
def test_rims_carry_no_words_of_tyres(name):
    rng = np.random.default_rng(3)
    phrases = {one.upper() for one in names.TYRE_PHRASES if one not in names.RIM_PHRASES}
    others = RECIPES[name].others
    assert "rim_other" in others
    assert not {draw_line(rng, kind)[0].upper() for kind in others for _ in range(60)} & phrases


@pytest.mark.parametrize("seed", range(4))
def test_the_size_line_is_in_the_picture_and_as_asked(world, fonts, seed):
    recipe = replace(RECIPES["moulded"], size=(300, 400), caps=(14.0, 20.0))
    shot = shoot(recipe, seed, fonts, world[0], bank=world[1], text="47-507")
    assert shot.truth == "47-507" and shot.pixels.shape == (300, 400, 3)
    assert (shot.polygon >= 0).all() and (shot.polygon <= (400, 300)).all()
    assert shot.cap > 4


def test_one_line_on_two_photos(world, fonts):
    recipe = replace(RECIPES["worn"], size=(300, 400), caps=(14.0, 20.0))
    one, other = (
        shoot(recipe, seed, fonts, world[0], bank=world[1], line_seed=9) for seed in (1, 2)
    )
    assert one.truth == other.truth != ""
    assert not np.array_equal(one.pixels, other.pixels)


def test_glare_only_brightens_and_lies_on_the_line():
    grey = np.full((200, 200), 0.3, np.float32)
    lit = finish.glare(grey, LINE, 20.0, np.random.default_rng(2))
    assert (lit >= grey - 1e-6).all() and lit.max() <= 1
    y, x = np.unravel_index(lit.argmax(), lit.shape)
    assert 0 <= x <= 200 and 40 <= y <= 160


def test_a_magnifier_enlarges_the_line_and_keeps_its_middle():
    grey = np.random.default_rng(1).random((200, 200)).astype(np.float32)
    seen, outline = finish.magnify(grey, LINE, np.random.default_rng(2))
    assert seen.shape == grey.shape and seen.min() >= 0 and seen.max() <= 1
    assert np.ptp(outline[:, 0]) >= np.ptp(LINE[:, 0])
    assert outline.mean(0) == pytest.approx(LINE.mean(0), abs=1e-3)


def test_rubber_stays_nearly_grey():
    grey = np.full((20, 20), 0.5, np.float32)
    tinted = finish.colour(grey, np.ones_like(grey), np.random.default_rng(4)).astype(int)
    assert np.ptp(tinted.reshape(-1, 3), axis=1).max() <= 10
