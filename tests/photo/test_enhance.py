"""What each variant promises."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from reader.errors import InputError
from reader.photo.enhance import VARIANTS, enhance
from reader.records import Photo, Region, Strip

WIDER = {"plain": 1.0, "narrowed": 0.72, "widened": 1.4}


@pytest.mark.parametrize("name", VARIANTS)
@pytest.mark.parametrize("shape", [(48, 300), (48, 9), (1, 1), (7, 2000), (200, 40), (48, 5000)])
def test_any_strip_keeps_its_height_and_is_not_changed(name, shape):
    strip = np.random.default_rng(1).integers(0, 255, shape).astype(np.uint8)
    for pixels in (strip, np.zeros_like(strip), np.full_like(strip, 255)):
        before = pixels.copy()
        out = VARIANTS[name](pixels)
        assert out.shape == (shape[0], max(1, round(shape[1] * WIDER[name])))
        assert out.dtype == np.uint8 and np.array_equal(pixels, before)


@pytest.mark.parametrize("name", ["narrowed", "widened"])
def test_widths_are_those_that_pillow_draws(name):
    """Against Pillow's box and cubic resampling; grey levels may round otherwise."""
    ramp = np.tile(np.linspace(0, 255, 300).astype(np.uint8), (48, 1))
    out = VARIANTS[name](ramp)
    way = Image.Resampling.BOX if name == "narrowed" else Image.Resampling.BICUBIC
    drawn = np.asarray(Image.fromarray(ramp).resize(out.shape[::-1], way), np.int16)
    assert np.abs(out.astype(np.int16) - drawn).max() <= 2


def test_enhance_names_the_strip():
    photo = Photo("grey", np.zeros((50, 50, 3), np.uint8))
    region = Region(photo, np.array([[0, 25], [49, 25]], np.float32), 20)
    strip = Strip(region, np.zeros((48, 100), np.uint8))
    out = enhance(strip, "widened")
    assert out.variant == "widened" and out.region is region
    with pytest.raises(InputError, match="narrowed"):
        enhance(strip, "sharpened")
