"""Lines followed through maps that were drawn by hand, and through the packaged finder's own."""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from wheels import TEXT_RADIUS, wheel  # noqa: E402

from reader.detect import trace as lines
from reader.detect.model import CELL, Maps, sizes  # noqa: E402
from reader.detect.trace import find_lines, search  # noqa: E402
from reader.records import Photo  # noqa: E402

CAP = 24.0  # pixels
SIDE = 800


def drawn(curves, told=1.0, scale=1.0):
    """Perfect maps of curves (N x 2 photo pixels, in reading direction)."""
    cells = round(SIDE * scale / CELL)
    text = np.zeros((cells, cells), np.float32)
    axis, along = np.zeros((2, cells, cells, 2), np.float32)
    axis[..., 0] = 1
    for curve in curves:
        points = (curve + 0.5) * scale / CELL - 0.5
        steps = np.gradient(points, axis=0)
        steps /= np.hypot(*steps.T)[:, None]
        thick = max(1, round(0.8 * CAP * scale / CELL))
        for (x, y), (c, s) in zip(points, steps, strict=True):
            at = (round(x), round(y))
            for field, value in ((axis, (c * c - s * s, 2 * c * s)), (along, (c * told, s * told))):
                for k in range(2):
                    layer = np.ascontiguousarray(field[..., k])
                    cv2.circle(layer, at, 2 * thick, float(value[k]), -1)
                    field[..., k] = layer
            cv2.circle(text, at, thick // 2, 1.0, -1)
    height = np.full_like(text, CAP * scale)
    text = cv2.GaussianBlur(text, (0, 0), 0.7)
    return Maps(scale, text, axis, along, height, np.ones_like(text))


@pytest.fixture
def seen(monkeypatch):
    def given(*maps):
        monkeypatch.setattr(lines, "look", lambda *_: iter(maps))
        return find_lines(Photo("drawn", np.zeros((SIDE, SIDE, 3), np.uint8)))

    return given


def level(y=400.0, start=150.0, stop=600.0):
    x = np.linspace(start, stop, 120)
    return np.stack([x, np.full_like(x, y)], 1)


def arc(radius=300.0, start=-2.6, stop=-0.6):
    turns = np.linspace(start, stop, 200)
    return np.stack([400 + radius * np.cos(turns), 450 + radius * np.sin(turns)], 1)


def distance(points, curve):
    return np.hypot(*(points[:, None] - curve[None]).transpose(2, 0, 1)).min(1)


@pytest.mark.parametrize("curve", [level(), level()[:, ::-1], arc(), arc()[::-1]])
def test_a_line_is_followed_along_its_curve_and_in_reading_direction(seen, curve):
    (region,) = seen(drawn([curve]))
    inner = region.centreline[2:-2]
    assert distance(inner, curve).max() < 0.35 * CAP
    assert distance(curve, region.centreline).max() < CAP  # nothing of it is left out
    assert region.height == pytest.approx(CAP, rel=0.1)
    near = [int(np.hypot(*(curve - spot).T).argmin()) for spot in inner]
    assert near[0] < near[len(near) // 2] < near[-1]
    assert region.finder == "lines"


def test_a_direction_told_backwards_turns_the_line(seen):
    curve = level()
    (region,) = seen(drawn([curve], told=-1.0))
    assert region.centreline[0, 0] > region.centreline[-1, 0]


def test_an_open_direction_is_tried_both_ways(seen):
    one, two = seen(drawn([level()], told=0.0))
    assert np.allclose(one.centreline, two.centreline[::-1])


def test_neighbouring_lines_stay_apart(seen):
    curves = [level(300), level(300 + 2.5 * CAP), arc(150, 0.4, 2.6)]
    assert len(seen(drawn(curves))) == 3


def test_a_line_seen_at_two_sizes_is_told_once(seen):
    assert len(seen(drawn([level()]), drawn([level()], scale=0.5))) == 1


def test_specks_are_no_lines(seen):
    assert seen(drawn([level(stop=160)])) == []


def test_an_empty_picture_has_no_lines(seen):
    assert seen(drawn([])) == []


@pytest.fixture
def quick(monkeypatch):
    def given(*maps):
        monkeypatch.setattr(lines, "look", lambda *_: iter(maps))
        return list(search(Photo("drawn", np.zeros((3 * SIDE, 3 * SIDE, 3), np.uint8))))

    return given


def test_a_line_that_the_quick_look_shows_as_well_is_not_told_again(quick):
    nothing, line = drawn([]), drawn([level()])
    scales = finder_scales()
    first, then = quick(*[nothing] * (scales - 2), line, line)
    assert len(first) == 1 and then == []


def test_full_size_adds_what_the_quick_look_missed(quick):
    nothing, one, both = drawn([]), drawn([level(200)]), drawn([level(200), level(500)])
    first, then = quick(*[nothing] * (finder_scales() - 2), one, both)
    assert [line.region.centreline[:, 1].mean() for line in first] == [pytest.approx(200, abs=9)]
    assert [line.region.centreline[:, 1].mean() for line in then] == [pytest.approx(500, abs=9)]


def test_every_line_comes_with_its_turned_twin(quick):
    *_, (line,) = quick(*[drawn([])] * (finder_scales() - 1), drawn([level()]))
    assert np.allclose(line.region.centreline, line.turned.centreline[::-1])
    assert line.ways == (line.region,)


def finder_scales():
    return len(sizes((3 * SIDE, 3 * SIDE)))


def test_a_box_from_the_user_is_searched_in_the_photo_s_own_coordinates():
    pixels = np.full((1500, 2000), 70, np.uint8)
    pixels += np.random.default_rng(2).integers(0, 25, pixels.shape, np.uint8)
    for spot in ((1100, 1000), (200, 300)):
        cv2.putText(pixels, "47-507 24 x 1.75", spot, cv2.FONT_HERSHEY_DUPLEX, 1.6, 190, 4)
    photo = Photo("drawn", np.repeat(pixels[..., None], 3, 2), box=(1090, 950, 470, 70))
    found = [line.region for some in search(photo) for line in some]
    middles = np.stack([region.centreline.mean(0) for region in found])
    assert (np.abs(middles - (1325, 985)) < (60, 15)).all(1).any()
    assert (np.abs(middles - (1325, 985)) < (320, 130)).all()  # the other text is 880 to the left


def test_the_packaged_finder_follows_the_sidewall_of_a_drawn_wheel():
    seen = wheel(size=(1500, 2000), radius=620.0, centre=(1000, 750))
    text = seen.circle(TEXT_RADIUS, seen.text_turn - 0.1, seen.text_turn + 0.1, 40)
    found = find_lines(seen.photo)
    assert min(distance(text, region.centreline).max() for region in found) < 15
