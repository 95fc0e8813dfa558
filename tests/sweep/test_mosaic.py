"""Frames kept of a sweep, laid together."""

import numpy as np

from reader.sweep.mosaic import MOST_FRAMES, MOST_PIXELS, Album


def frame(tone):
    return np.full((40, 60, 3), tone, np.uint8)


def shifted(x, y=0.0):
    return np.array([[1, 0, x], [0, 1, y], [0, 0, 1.0]])


def test_frames_lie_side_by_side_where_the_camera_was():
    album = Album()
    album.offer(frame(50), 1.0, 0, shifted(0), 0.0)
    album.offer(frame(200), 1.0, 0, shifted(100), 0.5)
    canvas = album.painted({0: np.zeros(2, np.float32)}, (40, 160))
    assert canvas.shape == (40, 160, 3)
    assert (canvas[20, 30] == 50).all() and (canvas[20, 130] == 200).all()
    assert (canvas[20, 80] == 0).all()  # nobody looked there


def test_the_sharper_one_lies_on_top():
    album = Album()
    album.offer(frame(50), 2.0, 0, shifted(0), 0.0)
    album.offer(frame(200), 1.0, 0, shifted(0), 0.1)
    canvas = album.painted({0: np.zeros(2, np.float32)}, (40, 60))
    assert (canvas[20, 30] == 50).all()


def test_few_are_kept_the_sharpest_of_each_place():
    album = Album()
    for k in range(30):
        album.offer(frame(k), 1.0 + (k % 3), 0, shifted(20 * (k // 3)), k / 10)
    assert len(album.frames) == MOST_FRAMES
    places = sorted(kept.middle[0] for kept in album.frames)
    assert min(np.diff(places)) > 10
    assert np.mean([kept.usable for kept in album.frames]) > 2.5


def test_segments_lie_apart_and_grey_frames_are_painted_too():
    album = Album()
    album.offer(frame(90)[..., 0], 1.0, 0, shifted(0), 0.0)
    album.offer(frame(180), 1.0, 1, shifted(0), 1.0)
    shifts = {0: np.zeros(2, np.float32), 1: np.array([100, 0], np.float32)}
    canvas = album.painted(shifts, (40, 160))
    assert (canvas[20, 30] == 90).all() and (canvas[20, 130] == 180).all()


def test_too_large_a_canvas_is_not_painted():
    assert Album().painted({}, (MOST_PIXELS, 2)) is None
