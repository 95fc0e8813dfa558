"""Tiles cover the photo, overlap enough, and skip what shows nothing."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reader.photo.tiles import tiles
from reader.records import Photo


def noisy(rows, cols):
    return np.random.default_rng(0).integers(0, 255, (rows, cols, 3)).astype(np.uint8)


@pytest.mark.parametrize("shape", [(300, 200), (1024, 1024), (1025, 3000), (3000, 4000)])
def test_every_pixel_and_every_short_line_lies_in_a_tile(shape):
    photo = Photo("noise", noisy(*shape))
    found = list(tiles(photo, 1024, 192))
    seen = np.zeros(shape, bool)
    for tile in found:
        rows, cols = tile.pixels.shape[:2]
        assert rows <= 1024 and cols <= 1024
        assert np.array_equal(
            tile.pixels, photo.pixels[tile.y : tile.y + rows, tile.x : tile.x + cols]
        )
        assert tile.pixels.base is not None  # a view, not a copy
        seen[tile.y : tile.y + rows, tile.x : tile.x + cols] = True
    assert seen.all()
    for x in range(0, shape[1] - 190, 61):
        assert any(tile.x <= x and x + 190 <= tile.x + tile.pixels.shape[1] for tile in found)


def test_plain_tiles_are_skipped_but_small_faint_text_is_kept():
    pixels = np.full((2048, 4096, 3), 60, np.uint8)
    pixels += np.linspace(0, 90, 4096).astype(np.uint8)[None, :, None]  # shading is no detail
    assert list(tiles(Photo("plain", pixels))) == []
    cv2.putText(
        pixels, "47-507 24x1.75", (2600, 1400), cv2.FONT_HERSHEY_SIMPLEX, 0.55, (145,) * 3, 1
    )
    found = list(tiles(Photo("text", pixels)))
    assert found and all(tile.x < 2740 < tile.x + 1024 for tile in found)


def test_overlap_must_be_smaller_than_the_side():
    with pytest.raises(ValueError, match="cannot overlap"):
        list(tiles(Photo("noise", noisy(20, 20)), 100, 100))
