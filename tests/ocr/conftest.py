"""Pictures and strips shared by the engines' tests."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from reader.records import Photo, Region, Strip

PICTURES = Path(__file__).parents[2] / "fixtures" / "ocr"


def whole_strip(grey) -> Strip:
    """A strip that fills its own photo."""
    height, width = grey.shape
    photo = Photo("strip", np.repeat(grey[..., np.newaxis], 3, axis=2))
    line = np.array([[0, height / 2], [width, height / 2]], dtype=np.float32)
    return Strip(Region(photo, line, float(height)), grey)


@pytest.fixture(scope="session")
def strip_of():
    return whole_strip


@pytest.fixture(scope="session")
def pictures():
    return PICTURES


@pytest.fixture(scope="session")
def picture():
    return lambda name: np.asarray(Image.open(PICTURES / name).convert("RGB"))


@pytest.fixture(scope="session")
def words(picture):
    """Strips that read CHINA, HERE, riser."""
    names = ("word1.png", "word2.png", "word3.png")
    return [whole_strip(cv2.cvtColor(picture(name), cv2.COLOR_RGB2GRAY)) for name in names]


@pytest.fixture(scope="session")
def lay_straight():
    """Cuts a box out of a picture as a strip."""

    def cut(pixels, corners):
        (a, b, c, _) = corners
        wide, high = (max(8, round(float(np.hypot(*side)))) for side in (b - a, c - b))
        flat = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=np.float32)
        turn = cv2.getPerspectiveTransform(corners.astype(np.float32), flat)
        return whole_strip(
            cv2.cvtColor(cv2.warpPerspective(pixels, turn, (wide, high)), cv2.COLOR_RGB2GRAY)
        )

    return cut


@pytest.fixture(scope="session")
def peer():
    """The wheel's own reading pipeline, as an outside reference for ours; it runs offline."""
    from rapidocr import RapidOCR

    return RapidOCR(params={"Global.log_level": "critical"})
