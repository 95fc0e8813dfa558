"""What each variant promises, measured on drawn strips."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reader.errors import InputError
from reader.photo.enhance import VARIANTS, enhance
from reader.records import Photo, Region, Strip


def mask(height=96, width=760):
    letters = np.zeros((height, width), np.uint8)
    cv2.putText(
        letters, "47-507  24x1.75", (12, 70), cv2.FONT_HERSHEY_DUPLEX, 2.0, 255, 7, cv2.LINE_AA
    )
    return letters


def moulded(light, sign=1):
    """A raised (or sunk, sign -1) text of the ground's own colour, lit from an angle; and its mask.

    Light 0 comes from above.
    """
    rng = np.random.default_rng(2)
    height = cv2.GaussianBlur(mask().astype(np.float32) / 255, (0, 0), 1.6)
    down, right = np.gradient(height)
    shade = 50 + sign * 150 * (down * np.cos(light) + right * np.sin(light))
    shade += rng.normal(0, 4, shade.shape) + np.linspace(-20, 30, 760)
    strip = np.clip(cv2.GaussianBlur(shade, (0, 0), 0.7), 0, 255).astype(np.uint8)
    small = cv2.resize(strip, (380, 48), interpolation=cv2.INTER_AREA)
    return small, cv2.resize(mask(), (380, 48), interpolation=cv2.INTER_AREA) > 127


def contrast(pixels, ink):
    """Ink against the ground near it, in standard deviations of the whole strip."""
    near = cv2.dilate(ink.astype(np.uint8), np.ones((7, 7))) > 0
    return (pixels[ink].mean() - pixels[near & ~ink].mean()) / max(pixels.std(), 1e-6)


@pytest.mark.parametrize("name", VARIANTS)
@pytest.mark.parametrize("shape", [(48, 300), (48, 9), (1, 1), (7, 2000), (200, 40), (48, 5000)])
def test_any_strip_keeps_its_shape_and_is_not_changed(name, shape):
    strip = np.random.default_rng(1).integers(0, 255, shape).astype(np.uint8)
    for pixels in (strip, np.zeros_like(strip), np.full_like(strip, 255)):
        before = pixels.copy()
        out = VARIANTS[name](pixels)
        assert out.shape == shape and out.dtype == np.uint8
        assert np.array_equal(pixels, before)
        assert np.array_equal(out, VARIANTS[name](pixels))


@pytest.mark.parametrize(
    ("light", "sign", "name"),
    [
        (0.2, 1, "relief, lit from above"),
        (0.2, -1, "relief, lit from below"),
        (np.pi + 0.2, 1, "relief, lit from below"),
    ],
)
def test_relief_fills_the_strokes(light, sign, name):
    pixels, ink = moulded(light, sign)
    assert abs(contrast(pixels, ink)) < 0.4  # as photographed, inside and outside are alike
    assert contrast(VARIANTS[name](pixels), ink) > 0.9
    opposite = {"above": "below", "below": "above"}
    other = name.replace(name.split()[-1], opposite[name.split()[-1]])
    assert contrast(VARIANTS[other](pixels), ink) < -0.9


def test_flat_light_removes_shade():
    ground = np.repeat(np.linspace(20, 220, 600)[None], 48, 0)
    ground[20:28, ::40] += 25
    out = VARIANTS["flat light"](ground.astype(np.uint8)).astype(float)
    left, right = np.median(out[:, 60:200]), np.median(out[:, 400:540])
    assert abs(left - right) < 12


def test_enhance_names_the_strip():
    photo = Photo("grey", np.zeros((50, 50, 3), np.uint8))
    region = Region(photo, np.array([[0, 25], [49, 25]], np.float32), 20)
    strip = Strip(region, moulded(0)[0])
    out = enhance(strip, "flat light")
    assert out.variant == "flat light" and out.region is region
    with pytest.raises(InputError, match="flat light"):
        enhance(strip, "sharpened")
