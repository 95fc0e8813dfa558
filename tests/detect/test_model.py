"""Tiles of the line finder put together again; the network is replaced where only that counts."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reader.detect import model as finder
from reader.detect.model import CELL, TILE, look, sizes


class Echo:
    """A network whose every answer is the mean of the cell's pixels."""

    def run(self, _names, inputs):
        tiles = inputs["picture"]
        assert tiles.shape[2] % 32 == 0 and tiles.shape[3] % 32 == 0
        small = [
            cv2.resize(tile[0], None, fx=1 / CELL, fy=1 / CELL, interpolation=cv2.INTER_AREA)
            for tile in tiles
        ]
        return [np.repeat(np.stack(small)[:, None], 7, 1)]


@pytest.fixture
def echo(monkeypatch):
    monkeypatch.setattr(finder, "_session", lambda *_: Echo())
    # as it comes: a tile's own brightness would hide whether it was laid in the right place
    monkeypatch.setattr(finder, "_tile", as_it_comes)


def as_it_comes(picture, box):
    cut = picture[box[0] : box[1], box[2] : box[3]].astype(np.float32) / 255
    assert max(cut.shape) <= TILE
    return np.pad(cut, ((0, -cut.shape[0] % 32), (0, -cut.shape[1] % 32)), "edge")[None]


@pytest.mark.parametrize("shape", [(500, 640), (640, 1300), (1284, 2000), (96, 900)])
def test_tiles_join_without_a_seam(echo, shape):
    rng = np.random.default_rng(1)
    grey = cv2.GaussianBlur(rng.integers(0, 255, shape, np.uint8), (0, 0), 5)
    whole = next(maps for maps in look(grey) if maps.scale == 1.0)
    logit = np.log(whole.text / (1 - whole.text))
    expected = cv2.resize(
        grey.astype(np.float32) / 255, None, fx=1 / CELL, fy=1 / CELL, interpolation=cv2.INTER_AREA
    )
    assert whole.text.shape == (-(-shape[0] // CELL), -(-shape[1] // CELL))
    rows, columns = expected.shape
    assert np.abs(logit[:rows, :columns] - expected).max() < 0.01


@pytest.mark.parametrize("shape", [(3000, 4000), (4000, 3000), (500, 700), (300, 5000), (40, 60)])
def test_a_photo_is_looked_at_from_its_own_size_down_to_a_small_one(shape):
    scales = sizes(shape)
    assert 1.0 in scales
    assert scales == sorted(scales, reverse=True)
    assert min(shape) * scales[-1] < 900
    assert len(scales) <= 6


def test_map_cells_lie_where_their_pixels_do(echo):
    grey = np.zeros((1200, 1600), np.uint8)
    cv2.circle(grey, (1000, 700), 60, 255, -1)
    grey = cv2.GaussianBlur(grey, (0, 0), 30)  # one peak at every size
    for maps in look(grey):
        y, x = np.unravel_index(cv2.GaussianBlur(maps.text, (0, 0), 4).argmax(), maps.text.shape)
        spot = maps.to_photo(np.array([[x, y]], np.float32))[0]
        assert np.hypot(*(spot - (1000, 700))) < 4 * CELL / maps.scale


def test_the_packaged_finder_tells_lettering_from_bare_ground():
    grey = cv2.GaussianBlur(
        np.random.default_rng(2).integers(60, 90, (640, 640), np.uint8), (0, 0), 1
    )
    cv2.putText(grey, "47-507 24 x 1.75", (60, 330), cv2.FONT_HERSHEY_DUPLEX, 1.6, 190, 4)
    maps = next(maps for maps in look(grey) if maps.scale == 1.0)
    lettered = maps.text[300 // CELL : 325 // CELL, 80 // CELL : 480 // CELL]
    bare = maps.text[480 // CELL :]
    assert lettered.mean() > 0.5 > 0.05 > bare.mean()
