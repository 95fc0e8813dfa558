"""The general detector, on photographs from opencv-doc and against the wheel's own code."""

import cv2
import numpy as np
import pytest

from reader.ocr.scene import Scene
from reader.ocr.scene_find import boxes, find

SIGNS = {
    "notice.jpg": {"NOTICE", "DOUBLE", "PARKING", "PROHIBITED", "AT ALL TIMES"},
    "signpost.jpg": {"Sports Centre", "Conference Centre", "Car Parks"},
    "service.jpg": {"Customer", "Freephone", "Private Hire", "Service"},
    "barriers.jpg": {"NO PARKING"},
}


@pytest.mark.parametrize("name", SIGNS)
def test_photographed_signs_are_found_and_read(picture, lay_straight, name):
    pixels = picture(name)
    strips = [lay_straight(pixels, quad.corners) for quad in find(pixels)]
    texts = [one.text.strip() for one in Scene().read(strips)]
    assert set(texts) >= SIGNS[name]
    if name == "barriers.jpg":
        assert texts.count("NO PARKING") == 2


@pytest.mark.parametrize("angle", [-30, -12, 25, 40])
def test_a_turned_sign_is_found_along_its_own_direction(picture, lay_straight, angle):
    pixels = picture("service.jpg")
    high, wide = pixels.shape[:2]
    turn = cv2.getRotationMatrix2D((wide / 2, high / 2), angle, 0.75)
    turned = cv2.warpAffine(pixels, turn, (wide, high), borderMode=cv2.BORDER_REPLICATE)
    quads = find(turned)
    texts = {one.text for one in Scene().read([lay_straight(turned, q.corners) for q in quads])}
    assert {"Customer", "Freephone", "Private Hire", "Service"} <= texts
    for quad in quads[:3]:
        x, y = quad.corners[1] - quad.corners[0]
        assert np.degrees(np.arctan2(-y, x)) == pytest.approx(angle, abs=6)


@pytest.mark.parametrize("name", ["notice.jpg", "service.jpg", "barriers.jpg"])
def test_boxes_agree_with_the_wheels_own_detector(picture, peer, name):
    pixels = picture(name)
    order = cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR)
    theirs = peer(order, use_det=True, use_cls=False, use_rec=False).boxes
    ours = [quad.corners for quad in find(pixels)]
    for box in theirs:
        assert max(overlap(np.asarray(box, np.float32), mine) for mine in ours) > 0.7


def overlap(one, other):
    """Intersection over union of two convex boxes, by OpenCV."""
    shared, _ = cv2.intersectConvexConvex(one, other)
    return shared / (cv2.contourArea(one) + cv2.contourArea(other) - shared)


def test_a_picture_without_text_gives_nothing():
    assert find(np.full((200, 300, 3), 120, np.uint8)) == []


def test_a_core_is_grown_back_by_the_published_rule():
    chances = np.zeros((96, 320), np.float32)
    chances[40:50, 60:260] = 0.9
    (quad,) = boxes(chances)
    core = np.array([200, 10])  # the dilation by two pixels adds at most one on each side
    grow = core.prod() * 1.6 / core.sum()
    sides = np.sort([np.hypot(*(quad.corners[k + 1] - quad.corners[k])) for k in (0, 1)])[::-1]
    assert sides == pytest.approx(core + grow, abs=3)
    assert quad.score == pytest.approx(0.9, abs=0.15)


def test_corners_run_clockwise_from_where_reading_starts(picture):
    for quad in find(picture("service.jpg")):
        a, b, c, d = quad.corners
        assert b[0] > a[0]
        assert c[1] > b[1]
        assert cv2.contourArea(quad.corners.astype(np.float32), oriented=True) > 0
        along, across = quad.size
        assert along >= across
