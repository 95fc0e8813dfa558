"""Strips of one line from several frames put together: noise goes, moving light shows relief."""

import cv2
import numpy as np

from reader.records import Hypothesis, Photo, Region, Strip
from reader.sweep.relief import FEWEST, composed
from reader.sweep.tracks import Look
from reader.sweep.vote import Letters

HIGH, WIDE = 48, 360


def letters():
    """Raised letters: their height, 0..1."""
    face = np.zeros((HIGH, WIDE), np.uint8)
    cv2.putText(face, "47-507", (60, 38), cv2.FONT_HERSHEY_SIMPLEX, 1.2, 255, 3)
    return cv2.GaussianBlur(face.astype(np.float32) / 255, (0, 0), 1.0)


def lit(side, seed, noise=12.0):
    """The letters as light from one side shows them: what faces it is bright."""
    slope = cv2.Sobel(letters(), cv2.CV_32F, 1, 0)
    rough = np.random.default_rng(seed).normal(0, noise, (HIGH, WIDE))
    return np.asarray(np.clip(110 + 60 * side * slope + rough, 0, 255), np.uint8)


def look(number, pixels, shift=0.0):
    photo = Photo(f"{number}", np.zeros((200, 600, 3), np.uint8))
    line = np.stack([np.linspace(50 + shift, 410 + shift, 60), np.full(60, 100.0)], 1)
    line = line.astype(np.float32)
    region = Region(photo, line, 32.0)
    seen = Hypothesis("moulded", "47-507", 0.9, Strip(region, pixels))
    empty = np.zeros((0, 2), np.float32)
    known = Letters(
        empty, np.zeros((0, 3), np.float32), np.zeros(0, bool), line, np.zeros((4, 3)), 32.0, 1.0
    )
    return Look(number, number / 10, seen, known, np.eye(3))


def alike(one, other):
    one, other = one - one.mean(), other - other.mean()
    return float((one * other).sum() / np.sqrt((one**2).sum() * (other**2).sum()))


def test_moving_light_shows_the_relief_better_than_any_strip():
    sides = (1, 0.6, 0.2, -0.2, -0.6, -1, 0.8, -0.8)
    looks = [look(k, lit(side, k)) for k, side in enumerate(sides)]
    out = {strip.variant: strip.pixels.astype(np.float32) for strip in composed(looks)}
    assert set(out) == {"median", "relief"}
    truth = cv2.Sobel(letters(), cv2.CV_32F, 1, 0)
    singles = [abs(alike(lit(side, k).astype(np.float32), truth)) for k, side in enumerate(sides)]
    assert abs(alike(out["relief"], truth)) > max(singles)


def test_in_steady_light_only_noise_goes():
    looks = [look(k, lit(0.5, k)) for k in range(8)]
    out = composed(looks)
    assert [strip.variant for strip in out] == ["median"]
    truth = cv2.Sobel(letters(), cv2.CV_32F, 1, 0)
    single = alike(lit(0.5, 0).astype(np.float32), truth)
    assert alike(out[0].pixels.astype(np.float32), truth) > single + 0.1


def test_a_passing_spoke_goes():
    strips = [lit(0.5, k, noise=3) for k in range(8)]
    for k, strip in enumerate(strips):
        strip[:, 40 * k : 40 * k + 30] = 250
    (median, *_) = composed([look(k, strip) for k, strip in enumerate(strips)])
    clean = lit(0.5, 99, noise=3).astype(np.float32)
    assert alike(median.pixels.astype(np.float32), clean) > 0.7


def test_too_few_looks_or_looks_elsewhere_give_nothing():
    assert composed([look(k, lit(0.5, k)) for k in range(FEWEST - 1)]) == []
    apart = [look(k, lit(0.5, k), shift=500.0 * k) for k in range(8)]
    assert composed(apart) == []
