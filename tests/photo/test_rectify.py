"""Bands laid straight are compared with the flat drawing they came from, and with OpenCV."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reader.photo.rectify import flip, from_box, lengthen, locate_in_photo, straighten
from reader.records import Photo, Region

TEXT = "47-507  24 x 1.75"


def flat_text(height=80, width=900):
    strip = np.full((height, width), 60, np.uint8)
    cv2.putText(strip, TEXT, (10, 62), cv2.FONT_HERSHEY_SIMPLEX, 2.2, 220, 5, cv2.LINE_AA)
    return strip


def bent(strip, centre, radius, start, size, squeeze=1.0):
    """The strip drawn on a circle, top outwards, clockwise; then squeezed upright to an ellipse."""
    ys, xs = np.mgrid[0 : size[0], 0 : size[1]].astype(np.float32)
    ys = (ys - centre[1]) / squeeze
    xs = xs - centre[0]
    turn = np.mod(np.arctan2(ys, xs) - start, 2 * np.pi)
    away = radius - np.hypot(xs, ys) + strip.shape[0] / 2 - 0.5
    picture = cv2.remap(
        strip, (turn * radius).astype(np.float32), away.astype(np.float32), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT, borderValue=60,
    )  # fmt: skip
    return Photo("drawn", np.repeat(picture[..., None], 3, 2))


def arc(centre, radius, start, length, count, squeeze=1.0):
    turn = start + np.linspace(0, length / radius, count)
    line = np.stack([radius * np.cos(turn), radius * np.sin(turn) * squeeze], 1)
    return (line + np.array(centre)).astype(np.float32)


def likeness(one, other):
    other = cv2.resize(other, one.shape[::-1], interpolation=cv2.INTER_AREA)
    return np.corrcoef(one.ravel().astype(float), other.ravel())[0, 1]


@pytest.mark.parametrize("count", [5, 40, 900])
@pytest.mark.parametrize("start", [-2.5, -0.4, 1.0, 2.6])
def test_arc_comes_back_flat(count, start):
    photo = bent(flat_text(), (1000, 900), 700, start, (1800, 2000))
    line = arc((1000, 900), 700, start, 900, count)
    strip = straighten(Region(photo, line, 80), 48, pad=0)
    assert strip.pixels.shape == (48, pytest.approx(540, abs=2))
    assert strip.pixels.dtype == np.uint8
    assert likeness(strip.pixels, flat_text()) > 0.97


def test_shaky_centre_line_is_smoothed():
    photo = bent(flat_text(), (1000, 900), 700, -2.5, (1800, 2000))
    line = arc((1000, 900), 700, -2.5, 900, 150)
    line = line + np.random.default_rng(3).normal(0, 1.5, line.shape).astype(np.float32)
    strip = straighten(Region(photo, line, 80), 48, pad=0)
    expected = cv2.resize(flat_text(), (540, 48), interpolation=cv2.INTER_AREA)
    for left in range(10, 300, 60):  # letters may slide along the line a little, not tremble
        pattern = expected[4:44, left : left + 60]
        found = cv2.matchTemplate(strip.pixels[:, left - 10 : left + 70], pattern, 5)
        assert found.max() > 0.9


def test_ellipse_shrinks_but_stays_level():
    photo = bent(flat_text(), (1000, 900), 700, -2.0, (1800, 2000), squeeze=0.75)
    line = arc((1000, 900), 700, -2.0, 900, 60, squeeze=0.75)
    strip = straighten(Region(photo, line, 60), 48, pad=0.25).pixels
    ink = (strip > 130).any(1)
    assert ink[20:28].all() and not ink[:3].any() and not ink[-3:].any()


@pytest.mark.parametrize("pad", [0, 0.25, 1])
def test_height_and_margin(pad):
    """White band on black: it fills the share of the rows that the margin leaves."""
    picture = np.zeros((400, 600, 3), np.uint8)
    picture[150:190] = 255
    line = np.array([[50, 169.5], [549, 169.5]], np.float32)
    strip = straighten(Region(Photo("band", picture), line, 40), 60, pad).pixels
    rows = np.flatnonzero(strip[:, 100] > 127)
    assert len(rows) == pytest.approx(60 / (1 + 2 * pad), abs=1)
    assert rows.mean() == pytest.approx(29.5, abs=0.6)


def test_flat_region_is_a_plain_crop():
    """At one strip pixel per photo pixel nothing is resampled."""
    picture = np.random.default_rng(1).integers(0, 255, (300, 400, 3), np.uint8)
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    line = np.array([[20 - 0.5, 99.5], [320 - 0.5, 99.5]], np.float32)
    strip = straighten(Region(Photo("noise", picture), line, 32), 48)
    assert np.abs(strip.pixels.astype(int) - grey[76:124, 20:320]).max() <= 1


def test_flip_is_half_a_turn():
    photo = bent(flat_text(), (1000, 900), 700, -2.5, (1800, 2000))
    region = Region(photo, arc((1000, 900), 700, -2.5, 900, 30), 80)
    there, back = straighten(region).pixels, straighten(flip(region)).pixels
    assert np.abs(there.astype(int) - back[::-1, ::-1]).mean() < 1.5


def test_agrees_with_warp_polar():
    """Reference: OpenCV's own polar unwrapping of a whole ring."""
    rng = np.random.default_rng(7)
    rough = cv2.GaussianBlur(rng.integers(0, 255, (900, 900, 3), np.uint8), (0, 0), 3)
    rough = cv2.normalize(rough, None, 0, 255, cv2.NORM_MINMAX)
    photo = Photo("rough", rough)
    radius, height = 300.0, 40
    columns = round(2 * np.pi * radius)
    polar = cv2.warpPolar(
        cv2.cvtColor(rough, cv2.COLOR_RGB2GRAY), (450, columns), (450, 450), 450, cv2.INTER_CUBIC
    )
    ring = polar[:, 280:320].T[::-1]  # rows outwards-first, columns by rising angle
    line = arc((450, 450), radius, 0, 2 * np.pi * radius, 361)
    strip = straighten(Region(photo, line, height), height, pad=0).pixels
    assert strip.shape == (height, pytest.approx(columns, abs=5))
    strip = cv2.resize(strip, (columns, height))
    # warpPolar samples whole radii, the strip half ones: the same up to half a pixel
    gap = np.abs(strip[:, 20:-20].astype(int) - ring[:, 20:-20])
    assert (
        gap.mean() < 4
        and np.corrcoef(strip[:, 20:-20].ravel(), ring[:, 20:-20].ravel())[0, 1] > 0.98
    )


def test_fine_stripes_turn_grey_not_into_moire():
    picture = np.zeros((1000, 4000, 3), np.uint8)
    picture[:, ::2] = 255
    line = np.array([[100, 500], [3900, 500]], np.float32)
    strip = straighten(Region(Photo("stripes", picture), line, 700), 48).pixels
    assert strip[:, 3:-3].std() < 6 and abs(strip.mean() - 127) < 6


def test_long_ring_in_a_wide_photo():
    picture = np.full((400, 31000, 3), 90, np.uint8)
    line = np.array([[10, 200], [30990, 200]], np.float32)
    strip = straighten(Region(Photo("wide", picture), line, 32))
    assert strip.pixels.shape == (48, 30980) and (strip.pixels == 90).all()


def test_outside_the_photo_repeats_the_edge():
    photo = Photo("grey", np.full((50, 50, 3), 77, np.uint8))
    line = np.array([[-400, -300], [-100, 900], [2000, 20]], np.float32)
    assert (straighten(Region(photo, line, 30)).pixels == 77).all()


def test_region_without_length_or_height():
    photo = Photo("grey", np.zeros((50, 50, 3), np.uint8))
    spot = np.array([[5, 5], [5, 5], [np.nan, 3]], np.float32)
    with pytest.raises(ValueError, match="two different points"):
        straighten(Region(photo, spot, 10))
    with pytest.raises(ValueError, match="height above 0"):
        straighten(Region(photo, np.array([[5, 5], [9, 5]], np.float32), 0))


def test_place_of_columns_in_the_photo():
    """The letters of '507' lie inside the outline of their columns, and nothing else does."""
    photo = bent(flat_text(), (1000, 900), 700, -2.5, (1800, 2000))
    strip = straighten(Region(photo, arc((1000, 900), 700, -2.5, 900, 60), 60))
    whole = locate_in_photo(strip)
    mask = cv2.fillPoly(np.zeros(photo.shape, np.uint8), [np.int32(np.rint(whole))], 1)
    ink = photo.pixels[..., 0] > 140
    assert (mask[ink] == 1).mean() > 0.97
    half = locate_in_photo(strip, (0, strip.pixels.shape[1] / 2))
    assert cv2.contourArea(half) == pytest.approx(cv2.contourArea(whole) / 2, rel=0.02)
    assert np.allclose(half[0], whole[0]) and np.allclose(half[-1], whole[-1])
    turned = straighten(flip(strip.region))
    there = locate_in_photo(strip, (0, 100)).mean(0)
    width = turned.pixels.shape[1]
    assert np.allclose(locate_in_photo(turned, (width - 100, width)).mean(0), there, atol=1)


def test_lengthen_draws_the_ends_out():
    photo = Photo("grey", np.zeros((50, 50, 3), np.uint8))
    region = lengthen(Region(photo, np.array([[10, 20], [30, 20]], np.float32), 8), 0.5)
    assert region.centreline.tolist() == [[6, 20], [10, 20], [30, 20], [34, 20]]


def test_boxes():
    picture = np.zeros((300, 400, 3), np.uint8)
    picture[100:120, 50:250] = flat_text()[10:70:3, :800:4, None]
    photo = Photo("label", picture)
    across, turned = from_box(photo, (50, 100, 200, 20))
    strip = straighten(across, 20, pad=0).pixels
    assert np.abs(strip.astype(int) - picture[100:120, 50:250, 0]).max() <= 1
    assert across.finder == turned.finder == "box"
    assert len(from_box(photo, (50, 100, 100, 90))) == 4
    upwards, downwards = from_box(photo, (50, 10, 20, 200))
    assert upwards.centreline[0, 1] > upwards.centreline[1, 1]
    assert downwards.centreline[0, 1] < downwards.centreline[1, 1]
    assert len(from_box(photo, (390, -5, 100, 50))) == 2  # cut at the photo's edge: tall
    assert from_box(photo, (500, 10, 20, 20)) == []
