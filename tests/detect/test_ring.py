"""Rings and their bands, on drawn wheels and on photographs that scikit-image ships."""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage.data

sys.path.insert(0, str(Path(__file__).parent))
from wheels import RIM, SIDEWALL, TEXT_RADIUS, TYRE, wheel  # noqa: E402

from reader.detect.ellipse import Ellipse, fit_concentric  # noqa: E402
from reader.detect.ring import bands, find_rings  # noqa: E402
from reader.photo.rectify import straighten  # noqa: E402
from reader.records import Photo  # noqa: E402

TURNS = np.linspace(0, 2 * np.pi, 200, endpoint=False)


def gap(ellipse, points):
    """Mean distance of points from an ellipse as a share of its size."""
    ring, _ = ellipse.to_circle(points.astype(float), np.ones(points.shape))
    return float(np.abs(np.hypot(ring[:, 0], ring[:, 1]) - 1).mean())


def nearest_edge(ring, points):
    return min(gap(ring.ellipse.scaled(edge), points) for edge in ring.edges)


def in_frame(photo, points):
    rows, cols = photo.shape
    return points[(points >= 0).all(1) & (points[:, 0] < cols) & (points[:, 1] < rows)]


@pytest.mark.parametrize(
    "view",
    [
        {"tilt": 0},
        {"tilt": 35},
        {"tilt": 48, "roll": 70, "radius": 1400},
        {"tilt": 30, "radius": 700, "centre": (1200, 1800)},
        {"tilt": 35, "radius": 1900, "centre": (2600, 900), "text_turn": 2.5},
        {"tilt": 25, "radius": 4500, "centre": (2000, 5200), "text_turn": -1.6},
        {"tilt": 40, "radius": 5000, "centre": (5500, 2800), "text_turn": -2.8},
    ],
    ids=["square on", "35 degrees", "48 degrees", "small", "cut", "close-up", "close-up aslant"],
)
def test_whole_cut_and_close(view):
    """The best ring lies on a true edge of the wheel; some band of it shows the text."""
    view = {key: value / 4 if key == "radius" else value for key, value in view.items()}
    view["centre"] = tuple(value / 4 for value in view.get("centre", (2000, 1500)))
    view.setdefault("radius", 1250 / 4)
    drawn = wheel(size=(750, 1000), **view)
    ring = find_rings(drawn.photo)[0]
    edges = [in_frame(drawn.photo, drawn.circle(radius)) for radius in (TYRE, SIDEWALL, RIM, 326)]
    assert min(nearest_edge(ring, edge) for edge in edges) < 0.02
    text = drawn.circle(TEXT_RADIUS, drawn.text_turn - 0.08, drawn.text_turn + 0.08, 20)
    near = [
        np.abs(np.hypot(*(region.centreline[:, None] - text).T)).min(1).max() / region.height
        for region in bands(ring, drawn.photo)
    ]
    assert min(near) < 0.8


def test_band_shows_the_text_level_and_upright():
    """The most eventful arc of a 12-megapixel photo holds the marking, readable as drawn."""
    drawn = wheel()
    ring = find_rings(drawn.photo)[0]
    arcs = bands(ring, drawn.photo)
    middle = drawn.circle(TEXT_RADIUS, drawn.text_turn, drawn.text_turn, 1)[0]
    for region in arcs[:12:2]:
        if np.hypot(*(region.centreline - middle).T).min() < 0.4 * region.height:
            break
    else:
        raise AssertionError("the text is in none of the first arcs")
    strip = straighten(region, 48, 0.35).pixels
    ink = strip > 110
    rows = np.flatnonzero(ink.mean(1) > 0.05)
    assert 8 < len(rows) < 34 and ink[:4].sum() + ink[-4:].sum() == 0
    # reading direction: the long gap of '47-507  24' lies left of the text's middle
    columns = np.flatnonzero(ink.any(0))
    gaps = np.diff(columns)
    share = (columns[np.argmax(gaps)] - columns[0]) / (columns[-1] - columns[0])
    assert share < 0.5


def test_bands_come_in_both_directions_best_first():
    drawn = wheel(size=(750, 1000), radius=310, centre=(500, 375))
    arcs = bands(find_rings(drawn.photo)[0], drawn.photo)
    scores = [region.score for region in arcs]
    assert scores == sorted(scores, reverse=True) and scores[0] == 1
    for one, two in zip(arcs[::2], arcs[1::2], strict=True):
        assert np.array_equal(one.centreline, two.centreline[::-1])
    assert all(region.finder == "ring" and region.height >= 2 for region in arcs)


def test_coffee_saucer():
    """A photograph nobody here took: coffee.png of scikit-image (CC0, R. Michetti).

    Points read off the picture by eye on the saucer's outer edge.
    """
    photo = Photo("coffee", skimage.data.coffee())
    edge = np.array(
        [[78, 190], [95, 280], [150, 344], [270, 388], [390, 360], [455, 290], [478, 220]]
    )
    assert nearest_edge(find_rings(photo)[0], edge) < 0.03


def test_motorcycle_wheel():
    """A real spoked tyre, half hidden: stereo_motorcycle of scikit-image (Middlebury 2014).

    Cut out as a phone would frame it; points read off by eye on the rim's outer edge.
    """
    left = skimage.data.stereo_motorcycle()[0][220:420, 95:310]
    photo = Photo("rear wheel", cv2.resize(left, None, fx=4, fy=4, interpolation=cv2.INTER_CUBIC))
    ring = find_rings(photo)[0]
    edge = np.array(
        [[206, 400], [230, 290], [330, 200], [450, 180], [430, 626], [300, 560], [580, 560]]
    )
    assert nearest_edge(ring, edge) < 0.08


def test_nothing_round():
    flat = Photo("flat", np.full((300, 400, 3), 90, np.uint8))
    assert find_rings(flat) == []
    noise = np.random.default_rng(0).integers(0, 255, (300, 400, 3)).astype(np.uint8)
    drawn = wheel(size=(300, 400), radius=125, centre=(200, 150))
    wheel_score = find_rings(drawn.photo)[0].score
    for ring in find_rings(Photo("noise", noise)):  # scores rank, they are no probabilities
        assert ring.score < wheel_score
    assert len(find_rings(Photo("tiny", noise[:20, :20]))) <= 3
    assert len(find_rings(Photo("thin", noise[:16]))) <= 3


def test_same_answer_every_time():
    drawn = wheel(size=(600, 800), radius=250, centre=(400, 300))
    assert find_rings(drawn.photo) == find_rings(drawn.photo)


@pytest.mark.parametrize("angle", [0, 0.6, 2.0, 3.0])
def test_concentric_fit_recovers_the_ellipse(angle):
    true = Ellipse(50, -20, 300, 190, angle)
    rng = np.random.default_rng(5)
    groups = [
        true.scaled(scale).points(np.linspace(0.3, 1.9, 80)) + rng.normal(0, 0.2, (80, 2))
        for scale in (1, 0.8, 1.25)
    ]
    found = fit_concentric(groups)
    assert found is not None
    assert (found.x, found.y) == pytest.approx((true.x, true.y), abs=8)
    assert (found.major, found.minor) == pytest.approx((300, 190), rel=0.04)
    assert np.sin(found.angle - true.angle) == pytest.approx(0, abs=0.06)


def test_fit_agrees_with_opencv():
    """Reference: cv2.fitEllipseDirect on one noisy closed edge."""
    points = Ellipse(200, 150, 120, 70, 0.5).points(TURNS)
    points = points + np.random.default_rng(2).normal(0, 0.5, points.shape)
    found = fit_concentric([points])
    (x, y), sides, _ = cv2.fitEllipseDirect(points.astype(np.float32))
    assert found is not None and (found.x, found.y) == pytest.approx((x, y), abs=0.3)
    assert sorted((found.major, found.minor)) == pytest.approx(
        sorted(side / 2 for side in sides), rel=0.01
    )


def test_fit_refuses_what_is_no_ellipse():
    line = np.stack([np.arange(20.0), 2 * np.arange(20.0)], 1)
    assert fit_concentric([line]) is None
    x = np.linspace(-2, 2, 50)
    found = fit_concentric([np.stack([x, np.zeros(50)], 1)])
    assert found is None
