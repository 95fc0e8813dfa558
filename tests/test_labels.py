"""Sizes that a label sets in two lines.

The texts and their places are those of the photographed box in fixtures/replay (tube-box-27, credit
in truth.csv there): 27" set large, the widths in the line below it.
"""

import numpy as np
import pytest

from reader.labels import across_lines
from reader.records import Hypothesis, Photo, Region, Strip

PHOTO = Photo("box", np.zeros((500, 302, 3), np.uint8))
WIDTHS = 'FITS TIRE WIDTHS: X 1 1/8" - 1 1/4"'


def seen(text, start, stop, height, score=0.97, photo=PHOTO):
    region = Region(photo, np.array([start, stop], np.float32), height)
    return Hypothesis("moulded", text, score, Strip(region, np.zeros((48, 9), np.uint8)))


LARGE = seen('27"', (20, 232), (290, 232), 162.0, 0.83)
BELOW = seen(WIDTHS, (24, 333), (268, 332), 14.0)


def test_the_diameter_above_and_the_width_below_make_a_name():
    (found,) = across_lines([LARGE, BELOW])
    assert (found.notation, found.text) == ("inch_fraction", "27 x 1 1/8")
    assert found.hypothesis.strip is BELOW.strip
    assert found.hypothesis.score == pytest.approx(0.83 * 0.97)


@pytest.mark.parametrize(
    ("large", "below"),
    [
        (seen("27", (20, 232), (290, 232), 162.0), BELOW),  # no inches: may be anything
        (seen('27"', (20, 232), (290, 232), 162.0, 0.5), BELOW),  # hardly read
        (seen('27"', (290, 232), (20, 232), 162.0), BELOW),  # upside down to the other
        (seen('27"', (20, -400), (290, -400), 162.0), BELOW),  # far away
        (seen('27"', (320, 232), (590, 232), 162.0), BELOW),  # beside, not above
        (seen('27"', (20, 232), (290, 232), 162.0, photo=Photo("other", PHOTO.pixels)), BELOW),
        (LARGE, seen('26 X 1 3/8"', (24, 333), (268, 332), 14.0)),  # has its own diameter
        (LARGE, seen("MAX 1 1/8 BAR", (24, 333), (268, 332), 14.0)),  # no cross
        (LARGE, seen("X 65 PSI", (24, 333), (268, 332), 14.0)),  # no width
    ],
)
def test_lines_that_are_no_one_label_make_none(large, below):
    assert across_lines([large, below]) == []


def test_of_several_looks_at_the_diameter_the_surest_counts():
    sure, doubtful = LARGE, seen('26"', (20, 232), (290, 232), 160.0, 0.72)
    assert {one.text for one in across_lines([doubtful, sure, BELOW])} == {"27 x 1 1/8"}
