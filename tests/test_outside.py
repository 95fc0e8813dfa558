"""Straightening and reading together, on photographed text from opencv-doc (see fixtures/ocr).

The bending is OpenCV's own warpPolar, and the perspective its warpPerspective, so that neither the
letters nor the geometry come from this project.
"""

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from reader.ocr.scene import Scene
from reader.ocr.scene_find import find
from reader.photo.rectify import straighten
from reader.records import Photo, Region

PICTURES = Path(__file__).parents[1] / "fixtures" / "ocr"
RADIUS = 700  # pixels, of the circle through the middle of the letters
SIDE = 1600


@pytest.fixture(scope="module")
def line():
    """The line 'Freephone' of a photographed sign, level, 64 pixels high."""
    pixels = np.asarray(Image.open(PICTURES / "service.jpg").convert("RGB"))
    downwards = sorted(find(pixels), key=lambda quad: quad.corners[:, 1].mean())
    quad = downwards[1]  # Customer, Freephone, Private Hire, Service
    flat = np.array([[0, 0], [400, 0], [400, 64], [0, 64]], dtype=np.float32)
    turn = cv2.getPerspectiveTransform(quad.corners, flat)
    return cv2.warpPerspective(pixels, turn, (400, 64), flags=cv2.INTER_CUBIC)


def bent(line, start):
    """The line on a circle, its upper side outwards, from angle `start` (degrees) clockwise."""
    around = round(2 * np.pi * RADIUS)
    polar = np.full((around, SIDE, 3), (40, 80, 50), dtype=np.uint8)
    begin = round(start / 360 * around)
    rows = np.arange(begin, begin + line.shape[1]) % around
    inner = RADIUS - line.shape[0] // 2
    polar[rows, inner : inner + line.shape[0]] = line[::-1].transpose(1, 0, 2)
    flags = cv2.WARP_INVERSE_MAP | cv2.WARP_POLAR_LINEAR
    return cv2.warpPolar(polar, (SIDE, SIDE), (SIDE / 2, SIDE / 2), SIDE, flags)


def band(photo, start, length, turn=None):
    """The region of the bent line, as a finder would give it."""
    angles = np.radians(start) + np.linspace(-6, length + 6, 200) / RADIUS
    points = np.stack([np.cos(angles), np.sin(angles)], axis=1) * RADIUS + SIDE / 2
    if turn is not None:
        points = cv2.perspectiveTransform(points[np.newaxis], turn)[0]
    return Region(photo, points.astype(np.float32), 60.0)


def read(region):
    (found,) = Scene().read([straighten(region)])
    return found.text.strip()


def test_a_bent_line_is_not_read_as_it_stands(line):
    """Or else the tests below would show nothing."""
    photo = Photo("ring", bent(line, 250))
    across = np.array([[300, 130], [1300, 130]], dtype=np.float32)
    assert read(Region(photo, across, 200.0)) != "Freephone"


@pytest.mark.parametrize("start", [0, 70, 160, 250, 345])
def test_a_line_on_a_circle_is_laid_straight_and_read(line, start):
    photo = Photo("ring", bent(line, start))
    assert read(band(photo, start, line.shape[1])) == "Freephone"


@pytest.mark.parametrize("start", [40, 200])
def test_a_circle_seen_at_an_angle_is_read_too(line, start):
    corners = np.array([[0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE]], dtype=np.float32)
    seen = np.array([[150, 300], [1500, 100], [1450, 1550], [250, 1250]], dtype=np.float32)
    turn = cv2.getPerspectiveTransform(corners, seen)
    photo = Photo("ring", cv2.warpPerspective(bent(line, start), turn, (SIDE, SIDE)))
    assert read(band(photo, start, line.shape[1], turn)) == "Freephone"
