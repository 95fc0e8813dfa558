"""Where a large picture is looked at closely: letters and busy surfaces, not sky."""

from __future__ import annotations

import numpy as np
import pytest

from reader.detect import model as finder
from reader.detect.model import CELL, MARGIN, TILE, Maps, look
from reader.detect.roi import REACH, worth_a_look

SIDE = 800  # of the larger picture
CELLS = SIDE // 2 // CELL  # of the smaller one's maps


@pytest.fixture
def rough():
    """A picture whose left half is rough and whose right half is evenly shaded."""
    picture = np.tile(np.linspace(40, 90, SIDE), (SIDE, 1)).astype(np.uint8)
    noise = np.random.default_rng(5).integers(0, 40, (SIDE, SIDE // 2), np.uint8)
    picture[:, : SIDE // 2] += noise
    return picture


def nothing():
    return np.zeros((CELLS, CELLS), np.float32)


def test_letters_seen_before_are_worth_a_look_whatever_they_stand_on(rough):
    text = nothing()
    text[40:42, 80:90] = 0.3
    wanted = worth_a_look(rough, text, nothing())
    assert wanted[40:42, 80:90].all()
    assert not wanted[:, : 80 - REACH - 2].any()


def test_a_surface_is_worth_a_look_only_where_it_shows_detail(rough):
    wanted = worth_a_look(rough, nothing(), nothing() + 0.9)
    assert wanted[:, : CELLS // 2].all()
    assert not wanted[:, CELLS // 2 + REACH + 2 :].any()


def test_detail_off_every_surface_is_not_worth_a_look(rough):
    assert not worth_a_look(rough, nothing(), nothing()).any()


def test_where_no_surface_is_trusted_detail_is_worth_a_look(rough):
    wanted = worth_a_look(rough, nothing(), None)
    assert wanted[:, : CELLS // 2].all()
    assert not wanted[:, CELLS // 2 + REACH + 2 :].any()


def test_one_lone_cell_is_a_speck(rough):
    text = nothing()
    text[50, 50] = 1.0
    assert not worth_a_look(rough, text, nothing()).any()


class Notes:
    """A network that sees letters everywhere and notes the pixels it was shown."""

    def __init__(self):
        self.shapes = []

    def run(self, _names, inputs):
        count, _, height, width = inputs["picture"].shape
        self.shapes.append((height, width))
        answer = np.zeros((count, 7, height // CELL, width // CELL), np.float32)
        answer[:, 0] = answer[:, 6] = 5.0
        return [answer]


def test_a_large_picture_is_looked_at_only_where_the_smaller_saw_something(monkeypatch):
    network = Notes()
    monkeypatch.setattr(finder, "_session", lambda *_: network)
    wanted = np.zeros((375, 500), bool)
    wanted[100:110, 200:260] = True  # 80 x 480 pixels
    monkeypatch.setattr(finder, "worth_a_look", lambda *_: wanted)
    grey = np.full((3000, 4000), 90, np.uint8)
    *_, before, full = look(grey)
    assert isinstance(full, Maps) and full.scale == 1.0
    seen = full.text > 0.5
    assert seen[200:220, 400:520].all()
    assert seen.sum() < 1.1 * 20 * 120  # nothing is told of the rest
    assert (before.text > 0.5).all()
    shown = sum(height * width for height, width in network.shapes)
    assert shown < 1.4 * (0.5**2 + 0.25**2 + 0.14**2) * grey.size
    assert max(map(max, network.shapes)) <= TILE


@pytest.mark.parametrize("length", [16, 420, TILE, TILE + 1, 1200, 1600, 3000, 4001, 8165])
def test_parts_with_their_margins_are_tiles_at_most(length):
    cuts = finder._parts(length)
    assert cuts[0] == 0 and cuts[-1] == length
    assert all(cut % CELL == 0 for cut in cuts[:-1])
    for start, stop in zip(cuts[:-1], cuts[1:], strict=True):
        assert start < stop
        assert min(length, stop + MARGIN) - max(0, start - MARGIN) <= TILE
