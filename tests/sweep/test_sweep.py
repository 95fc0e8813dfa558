"""Whole sweeps, over drawn samples whose truth stands in samples/labels.csv."""

from pathlib import Path

import cv2
import numpy as np
import pytest

from reader.photo.load import load
from reader.pipeline import Settings
from reader.records import Size, Verdict
from reader.sweep import read_clips
from reader.sweep.sweep import Sweep

ROOT = Path(__file__).parents[2]
CLIP = ROOT / "fixtures" / "clips" / "h264.mp4"
OURS = Settings(engines=("moulded",))


def windows(name, width, count):
    """Frames that go along a sample, `width` of it wide."""
    pixels = load(ROOT / "samples" / name, name).pixels
    high, wide = pixels.shape[:2]
    size = int(wide * width), int(high * 0.8)
    for k in range(count):
        x, y = (wide - size[0]) * k / (count - 1), high * (0.1 + 0.02 * np.sin(k))
        matrix = np.array([[1, 0.01 * np.sin(k), -x], [-0.01 * np.sin(k), 1, -y]], np.float32)
        yield cv2.warpAffine(pixels, matrix, size)


def test_a_clip_is_read():
    reading = read_clips([CLIP], ["sweep.mp4"], settings=OURS)
    assert reading.best.size == Size(622, 40)
    assert reading.verdict in (Verdict.SURE, Verdict.LIKELY)
    assert reading.diameter.value == 622 and reading.width.value == 40
    assert reading.photos == ("sweep.mp4",)


def test_a_marking_longer_than_the_picture_is_read_whole():
    sweep = Sweep(OURS)
    states = [
        sweep.add(frame, k / 8) for k, frame in enumerate(windows("moulded-111.jpg", 0.5, 12))
    ]
    texts = {line.text.strip() for state in states for line in state.lines}
    assert any("700X40C (40-622" in text for text in texts), texts
    assert sweep.finish().best.size == Size(622, 40)


def test_nothing_is_named_where_no_size_is():
    sweep = Sweep(OURS)
    for k, frame in enumerate(windows("nothing-41.jpg", 0.7, 6)):
        state = sweep.add(frame, k / 8)
    assert not state.done
    assert sweep.finish().verdict is Verdict.NONE


def test_a_sweep_says_what_it_knows_while_it_lasts():
    sweep = Sweep(OURS)
    for k, frame in enumerate(windows("moulded-111.jpg", 0.8, 6)):
        state = sweep.add(frame, k / 8)
        assert state.frames == k + 1 and state.looks <= state.frames
    assert state.lines and all(line.outline.shape[1] == 2 for line in state.lines)
    assert state.reading is not None


def test_a_blurred_frame_is_not_read_and_asks_to_go_slower():
    frame = next(windows("moulded-111.jpg", 0.8, 2))
    sweep = Sweep(OURS)
    sweep.add(frame, 0.0)
    state = sweep.add(cv2.GaussianBlur(frame, (0, 0), 6), 0.2)
    assert not state.used
    assert "slower" in [hint.name for hint in state.hints]


@pytest.mark.parametrize("level,name", [(4, "dark"), (255, "glare")])
def test_bad_light_is_told(level, name):
    frame = next(windows("moulded-111.jpg", 0.8, 2))
    sweep = Sweep(OURS)
    sweep.add(frame, 0.0)
    spoilt = frame.copy()
    spoilt[:, : int(frame.shape[1] * 0.9)] = level
    assert name in [hint.name for hint in sweep.add(spoilt, 0.2).hints]
