"""Frames made from one picture by known homographies: what `Motion` finds is compared with them."""

import cv2
import numpy as np
import pytest

from reader.sweep.motion import Motion, moved, scale_at

SIZE = 720, 1280  # of a frame, height and width


def world():
    noise = np.random.default_rng(5).integers(0, 256, (1400, 2200)).astype(np.float32)
    smooth = cv2.GaussianBlur(noise, (0, 0), 4)
    return np.asarray(cv2.normalize(smooth, None, 20, 220, cv2.NORM_MINMAX), np.uint8)


def camera(k):
    """From the world's pixels to those of frame k: shift, turn, zoom and a little perspective."""
    turn, zoom = 0.004 * k, 1 + 0.006 * k
    middle = np.array([[1, 0, -1000 - 12 * k], [0, 1, -700 - 3 * k], [0, 0, 1.0]])
    spin = zoom * np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0]])
    bend = np.array([[1, 0, 0], [0, 1, 0], [3e-6 * k, 0, 1]])
    place = np.array([[1, 0, SIZE[1] / 2], [0, 1, SIZE[0] / 2], [0, 0, 1.0]])
    return place @ bend @ np.vstack([spin, [0, 0, 1]]) @ middle


def filmed(k, light=None):
    frame = cv2.warpPerspective(world(), camera(k), SIZE[::-1])
    return frame if light is None else np.asarray(np.clip(frame + light, 0, 255), np.uint8)


def lamp(k):
    """A burnt-out reflection that goes with the camera, not with the part."""
    y, x = np.mgrid[: SIZE[0], : SIZE[1]]
    return 400 * np.exp(-(((x - 640 - 3 * k) / 130) ** 2) - ((y - 360) / 90) ** 2)


def misses(frames):
    """Pixels by which four points of the part miss their places in the first frame, by frame."""
    motion = Motion()
    part = np.array([[900, 600], [1100, 620], [1000, 760], [950, 700]], np.float32)
    first = moved(part, camera(0))
    for k, frame in frames:
        found = motion.step(frame)
        assert motion.segment == 0
        yield float(np.abs(moved(moved(part, camera(k)), found) - first).max())


def test_a_moving_camera_is_followed_to_the_pixel():
    assert max(misses((k, filmed(k)) for k in range(25))) < 1.5


def test_a_reflection_that_goes_with_the_camera_drags_nothing_along():
    assert max(misses((k, filmed(k, lamp(k))) for k in range(25))) < 2.5


def test_a_cut_begins_another_segment():
    motion = Motion()
    motion.step(filmed(0))
    other = np.random.default_rng(8).integers(0, 256, SIZE).astype(np.uint8)
    place = motion.step(cv2.GaussianBlur(other, (0, 0), 3))
    assert motion.segment == 1
    assert np.allclose(place, np.eye(3))


def test_a_black_frame_is_no_error():
    motion = Motion()
    for _ in range(3):
        motion.step(np.zeros(SIZE, np.uint8))
    assert motion.segment == 2


@pytest.mark.parametrize("zoom", [0.5, 1.0, 3.0])
def test_scale(zoom):
    points = np.array([[10, 10], [50, 80]], np.float32)
    assert scale_at(points, np.diag([zoom, zoom, 1.0])) == pytest.approx(zoom, rel=1e-3)
