"""Whether one line lies on another, however sparse its points are."""

import numpy as np
import pytest

from reader.detect.nms import covers, without_doubles
from reader.records import Photo, Region

PHOTO = Photo("drawn", np.zeros((400, 1000, 3), np.uint8))


def line(start, stop, y=200.0, height=24.0, points=3, score=0.9):
    x = np.linspace(start, stop, points, dtype=np.float32)
    return Region(PHOTO, np.stack([x, np.full_like(x, y)], 1), height, score)


@pytest.mark.parametrize("points", [2, 5, 60])
def test_a_line_lies_on_itself_however_few_its_points(points):
    assert covers(line(100, 700, points=2), line(100, 700, points=points), 0.95)


@pytest.mark.parametrize(
    "other", [line(100, 700, y=230), line(100, 700, height=60), line(500, 1100)]
)
def test_beside_larger_or_mostly_elsewhere_is_another_line(other):
    assert not covers(line(100, 700, points=2), other)


def test_of_doubles_the_longer_and_surer_stays():
    long, short, other = line(100, 700), line(300, 500, y=203), line(100, 700, y=300)
    kept = [region for region, _ in without_doubles([(short, 1.0), (long, 0.2), (other, 0.0)])]
    assert {id(region) for region in kept} == {id(long), id(other)}
