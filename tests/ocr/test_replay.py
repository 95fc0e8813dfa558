"""Recordings played back."""

import numpy as np
import pytest

from reader.errors import EngineError
from reader.ocr.replay import Replay, record
from reader.ocr.scene import Scene


def test_the_shipped_recording_gives_words_tied_to_the_strips(words, pictures):
    found = Replay(pictures / "words.json").read(words)
    assert [one.text for one in found] == ["CHINA", "HERE", "riser"]
    assert [one.strip for one in found] == words
    assert found[0].engine == "scene"


def test_a_recording_is_what_the_engine_gave(words, tmp_path):
    live = Scene().read(words)
    record(live, tmp_path / "r.json", frames=True)
    for one, other in zip(Replay(tmp_path / "r.json").read(words), live, strict=True):
        assert (one.text, one.alphabet) == (other.text, other.alphabet)
        assert one.score == pytest.approx(other.score, abs=1e-4)
        assert np.abs(one.log_probs - other.log_probs).max() < 0.01


@pytest.mark.parametrize("content", ["", "[]", '{"engine": "x"}'])
def test_what_is_no_recording_is_refused(tmp_path, content, words):
    path = tmp_path / "r.json"
    path.write_text(content)
    with pytest.raises(EngineError, match="no recording"):
        Replay(path).read(words)


def test_a_recording_that_is_too_short_is_refused(words, pictures):
    with pytest.raises(EngineError, match="3 strips"):
        Replay(pictures / "words.json").read(words * 2)
