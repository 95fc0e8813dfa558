"""Recordings played back."""

from dataclasses import replace

import numpy as np
import pytest

from reader.errors import EngineError
from reader.ocr.replay import STEPS, coarse, fine, load, save
from reader.ocr.scene import Scene
from reader.records import Hypothesis, Region


@pytest.fixture(scope="module")
def live(words):
    return Scene().read(words)


@pytest.fixture(scope="module")
def recording(live, tmp_path_factory):
    path = tmp_path_factory.mktemp("replay") / "words.npz"
    region = live[0].strip.region
    save(path, region.photo, [[(region, True)], []], [(np.eye(4, 2), 0.5)], live)
    return load(path)


def test_a_recording_is_what_the_engine_gave(recording, words, live):
    for one, other in zip(recording.engine("scene").read(words), live, strict=True):
        assert (one.engine, one.text, one.alphabet) == (other.engine, other.text, other.alphabet)
        assert one.score == pytest.approx(other.score, abs=1e-4)
        assert one.strip is other.strip
        assert (one.log_probs.argmax(1) == other.log_probs.argmax(1)).all()


def test_lines_boxes_and_shape_are_kept(recording, live):
    region = live[0].strip.region
    (((line, is_open),), empty) = recording.looks
    assert recording.photo.shape == region.photo.shape
    assert (line.centreline == region.centreline).all()
    assert (line.height, line.finder, is_open, empty) == (region.height, region.finder, True, ())
    assert (recording.prints[0][0] == np.eye(4, 2)).all()


def test_letter_probabilities_keep_what_a_grammar_weighs():
    logs = np.log(np.random.default_rng(5).dirichlet(np.full(50, 0.1), 40)).astype(np.float32)
    logs = np.maximum(logs, -16)
    again = fine(*coarse(logs))
    near = logs.max(1, keepdims=True) - logs <= STEPS[-1]
    assert np.abs(again - logs)[near].max() <= 0.25 + 1 / 64
    assert (again.max(1, keepdims=True) - again)[~near].min() >= STEPS[-1]


def test_a_strip_that_was_not_recorded_is_told(recording, words):
    strange = replace(words[0], variant="widened")
    with pytest.raises(EngineError, match="not recorded"):
        recording.engine("scene").read([strange])
    assert len(recording.missed) == 1


def test_engines_without_frames_are_kept_too(words, tmp_path):
    region = replace(words[0].region, score=0.5)
    strip = replace(words[0], region=region)
    save(tmp_path / "one.npz", region.photo, [], [], [Hypothesis("string", "37-622", 0.8, strip)])
    (seen,) = load(tmp_path / "one.npz").engine("string").read([strip])
    assert (seen.text, seen.score, seen.log_probs) == ("37-622", 0.8, None)


def test_a_strip_is_known_again_by_its_place(recording, words):
    region = words[0].region
    moved = Region(region.photo, region.centreline + 0.4, region.height * 1.001)
    assert recording.engine("scene").read([replace(words[0], region=moved)])


@pytest.mark.parametrize("content", [b"", b"[]", b"PK\x03\x04"])
def test_what_is_no_recording_is_refused(tmp_path, content):
    path = tmp_path / "r.npz"
    path.write_bytes(content)
    with pytest.raises(EngineError, match="no recording"):
        load(path)
