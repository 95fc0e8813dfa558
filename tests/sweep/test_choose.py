"""Which frames are chosen: the sharp ones, new ones, and fewer while nothing changes."""

import cv2
import numpy as np

from reader.sweep.choose import LONGEST, Chooser
from reader.sweep.quality import judge

RATE = 20.0


def world():
    noise = np.random.default_rng(3).integers(0, 256, (500, 2400)).astype(np.float32)
    smooth = cv2.GaussianBlur(noise, (0, 0), 1.2)
    return np.asarray(cv2.normalize(smooth, None, 0, 255, cv2.NORM_MINMAX), np.uint8)


def frame(x, soft=0.0, gain=1.0):
    cut = world()[:360, round(x) : round(x) + 640].astype(np.float32) * gain
    cut = cv2.GaussianBlur(cut, (0, 0), soft) if soft else cut
    return cv2.cvtColor(np.asarray(np.clip(cut, 0, 255), np.uint8), cv2.COLOR_GRAY2BGR)


def chosen(frames, looks=10, seconds=None):
    chooser = Chooser(len(frames) / RATE if seconds is None else seconds, looks)
    out = [one for k, each in enumerate(frames) for one in chooser.offer(k / RATE, each)]
    return [*out, *chooser.rest()]


def test_the_sharpest_of_each_stretch_is_taken():
    soft = [0.0 if k % 6 == 3 else 4.0 for k in range(60)]
    taken = chosen([frame(8 * k, soft[k]) for k in range(60)])
    assert all(soft[round(seconds * RATE)] == 0 for seconds, _ in taken)
    assert 8 <= len(taken) <= 12


def test_they_come_in_order_and_none_twice():
    seconds = [at for at, _ in chosen([frame(10 * k) for k in range(60)])]
    assert seconds == sorted(set(seconds))


def test_a_camera_that_rests_is_looked_at_less_often():
    still = chosen([frame(100)] * 60)
    moving = chosen([frame(10 * k) for k in range(60)])
    assert len(still) < 0.6 * len(moving)


def test_another_light_is_new_though_nothing_moves():
    lit = [frame(100, gain=0.5 if k < 30 else 1.0) for k in range(60)]
    assert len(chosen(lit)) >= len(chosen([frame(100)] * 60))


def test_a_burnt_out_frame_is_left_for_a_better_one():
    frames = [frame(8 * k, gain=1.0 if k % 6 == 2 else 30.0) for k in range(60)]
    taken = [round(at * RATE) % 6 == 2 for at, _ in chosen(frames)]
    assert sum(taken) > 0.7 * len(taken)


def test_an_unknown_length_is_no_error():
    assert chosen([frame(10 * k) for k in range(20)], seconds=0.0)
    assert LONGEST < 1


def test_sharpness_falls_with_blur_and_glare_with_light():
    grey = frame(50)[..., 0]
    blurred = cv2.GaussianBlur(grey, (0, 0), 2.0)
    assert judge(grey).usable > 1.5 * judge(blurred).usable
    assert judge(np.full((360, 640), 255, np.uint8)).bright == 1
    assert judge(np.zeros((360, 640), np.uint8)).dark == 1
