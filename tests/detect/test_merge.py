"""Pieces of one line that stand apart are put together, and nothing else is."""

from __future__ import annotations

import numpy as np
import pytest

from reader.detect.merge import WIDEST, joined
from reader.photo.rectify import flip
from reader.records import Photo, Region

PHOTO = Photo("drawn", np.zeros((600, 900, 3), np.uint8))
HEIGHT = 20.0


def piece(start, stop, y=300.0, height=HEIGHT):
    x = np.linspace(start, stop, 20)
    line = np.stack([x, np.full_like(x, y)], 1).astype(np.float32)
    return Region(PHOTO, line, height)


def arc(start, stop, radius=250.0):
    angle = np.radians(np.linspace(start, stop, 40))
    line = np.stack([450 + radius * np.sin(angle), 400 - radius * np.cos(angle)], 1)
    return Region(PHOTO, line.astype(np.float32), HEIGHT)


def test_two_pieces_on_one_level_are_one_line():
    (line,) = joined([piece(100, 200), piece(280, 420)])
    assert line.centreline[0] == pytest.approx([100, 300])
    assert line.centreline[-1] == pytest.approx([420, 300])
    assert (np.diff(line.centreline[:, 0]) > 0).all()


@pytest.mark.parametrize("order", [0, 1])
@pytest.mark.parametrize("turned", [0, 1])
def test_the_first_piece_tells_the_direction(order, turned):
    pieces = [piece(100, 200), piece(280, 420)]
    first, second = pieces[order], pieces[1 - order]
    (line,) = joined([first, flip(second) if turned else second])
    assert line.centreline[0, 0] < line.centreline[-1, 0]
    (line,) = joined([flip(first), second])
    assert line.centreline[0, 0] > line.centreline[-1, 0]


def test_pieces_of_an_arc_are_one_line_around_the_gap():
    (line,) = joined([arc(-30, -6), arc(8, 30)])
    radius = np.hypot(*(line.centreline - (450, 400)).T)
    assert radius == pytest.approx(250, abs=6)


@pytest.mark.parametrize(
    "other",
    [
        piece(280, 420, y=340.0),  # the next row
        piece(280, 420, height=2 * HEIGHT),  # letters of another size
        piece(220 + HEIGHT * (WIDEST + 2), 800),  # too far away
    ],
)
def test_what_does_not_continue_stays_apart(other):
    assert joined([piece(100, 200), other]) == []


def test_a_line_that_crosses_is_not_joined():
    y = np.linspace(320, 420, 20)
    crossing = np.stack([np.full_like(y, 260), y], 1).astype(np.float32)
    assert joined([piece(100, 200), Region(PHOTO, crossing, HEIGHT)]) == []
    assert joined([]) == []
