"""What lies across letters: spokes drawn over plates and over shipped samples.

A drawn bar stands for the spoke; that a spoke is one straight band of one brightness, seen above
and below the letters too, is common practice, no source.
"""

import sys
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))
from test_pipeline import label  # noqa: E402

from reader.photo.covered import across  # noqa: E402
from reader.photo.load import load  # noqa: E402
from reader.photo.rectify import straighten  # noqa: E402
from reader.pipeline import Settings, read  # noqa: E402
from reader.records import Photo, Region, Strip, Verdict  # noqa: E402

SAMPLES = Path(__file__).parents[2] / "samples"
BAND = (((220, 240), (430, 240)), 34.0)  # where `label` sets its text, and its capitals' height


def barred(photo, x, lean=0, thick=8, grey=210):
    """The photo with a bar from 90 pixels above its middle to 90 below, at a column."""
    pixels, middle = photo.pixels.copy(), photo.shape[0] // 2
    ends = (x - lean, middle - 90), (x + lean, middle + 90)
    cv2.line(pixels, *ends, (grey,) * 3, thick, cv2.LINE_AA)
    return Photo(photo.name, pixels, photo.part)


def strip(photo):
    line, height = BAND
    return straighten(Region(photo, np.array(line, np.float32), height))


@pytest.mark.parametrize("text", ["45-559", "37-622", "47-507", "11-111", "17/47-177"])
def test_letters_alone_cover_nothing(text):
    assert across(strip(label(text))) == []


@pytest.mark.parametrize("lean", [-40, 0, 25])
@pytest.mark.parametrize("grey", [10, 255])
def test_a_bar_across_is_found_where_it_lies(lean, grey):
    dark = label("45-559")
    photo = Photo("lighter", np.clip(dark.pixels.astype(int) + 40, 0, 255).astype(np.uint8))
    found = across(strip(barred(photo, 325, lean, grey=grey)))
    assert len(found) == 1
    begin, end = found[0]
    assert begin < 0.5 < end and end - begin < 0.25


def test_a_bar_that_ends_at_the_letters_is_a_letter():
    photo = label("4 5-559")
    pixels = photo.pixels.copy()
    cv2.line(pixels, (250, 226), (250, 254), (210, 210, 210), 8)
    assert across(strip(Photo("letter", pixels))) == []


def test_ribs_all_along_are_the_ground():
    photo = label("45-559")
    for x in range(220, 440, 30):
        photo = barred(photo, x, 12, thick=5)
    assert across(strip(photo)) == []


def test_a_strip_without_pixels_shows_nothing():
    region = Region(label("47-507"), np.array([[0, 0], [9, 0]], np.float32), 9.0)
    assert across(Strip(region, np.zeros((1, 1), np.uint8))) == []


@pytest.mark.parametrize(("name", "right"), [("moulded-126", "65-559"), ("printed-120", "55-507")])
def test_a_size_behind_a_spoke_is_never_sure(name, right):
    photo = load(SAMPLES / f"{name}.jpg")
    settings = Settings(engines=("moulded",))
    clear = read([photo], settings)
    assert clear.verdict is Verdict.SURE and str(clear.best.size) == right
    marking = min((m for m in clear.markings if m.text == right), key=lambda m: m.cost)
    region = marking.hypothesis.strip.region
    pixels = photo.pixels.copy()
    middle = region.centreline.mean(axis=0)
    along = region.centreline[-1] - region.centreline[0]
    up = np.array([along[1], -along[0]]) / np.hypot(*along) * 3 * region.height
    ends = [tuple(np.round(middle + side * up).astype(int).tolist()) for side in (1, -1)]
    cv2.line(pixels, *ends, (200, 200, 200), max(3, round(region.height * 0.3)), cv2.LINE_AA)
    covered = read([Photo(name, pixels)], settings)
    assert covered.verdict is not Verdict.SURE
    assert covered.diameter.verdict is not Verdict.SURE
    assert any("lies across" in text for text in covered.advice)
