"""Pictures set into larger ones, and the grounds behind rendered parts."""

import cv2
import numpy as np
import pytest

from reader.train.render.surroundings import CORNER, KINDS, SIZE, set_into


@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_itself_is_kept(kind, tmp_path):
    rng = np.random.default_rng(1)
    cv2.imwrite(str(tmp_path / "a.jpg"), rng.integers(0, 255, (40, 60, 3), np.uint8))
    picture = np.full((480, 640, 3), 30, np.uint8)
    large = set_into(picture, kind, 3, tmp_path)
    assert large.shape == (*SIZE, 3) and large.dtype == np.uint8
    top, left = CORNER
    assert np.array_equal(large[top + 200 : top + 280, left + 200 : left + 440], picture[:80, :240])


def test_walls_are_rough_and_differ():
    picture = np.zeros((200, 200, 3), np.uint8)
    walls = [set_into(picture, "a rough wall", number, None)[:600, :600] for number in (1, 2)]
    assert walls[0].std() > 5
    assert not np.array_equal(*walls)


def test_unknown_surroundings():
    with pytest.raises(ValueError, match="no such surroundings"):
        set_into(np.zeros((200, 200, 3), np.uint8), "a sea", 1, None)
