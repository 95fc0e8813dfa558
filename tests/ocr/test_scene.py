"""The general recogniser, on photographs from opencv-doc and against the wheel's own code."""

import multiprocessing
import subprocess
import sys

import cv2
import numpy as np
import pytest

from reader.errors import EngineError
from reader.ocr import scene_models
from reader.ocr.alphabet import ALPHABET
from reader.ocr.scene import HEIGHT, OVERLAP, STRIDE, WINDOW, Scene, batches, cut, decode, join


def greedy(table):
    """Best path of the reduced table, as text."""
    best = table.argmax(axis=1)
    keep = (best != 0) & (best != np.concatenate(([0], best[:-1])))
    return "".join(ALPHABET[k - 1] for k in best[keep])


def test_it_reads_photographed_words(words):
    found = Scene().read(words)
    assert [one.text for one in found] == ["CHINA", "HERE", "riser"]
    assert all(one.score > 0.95 and one.engine == "scene" for one in found)


def test_letter_probabilities_say_the_same_in_the_alphabet_of_markings(words):
    for one in Scene().read(words):
        assert one.log_probs.shape[1] == 1 + len(one.alphabet)
        assert greedy(one.log_probs) == one.text.upper()
        total = np.exp(one.log_probs).sum(axis=1)
        assert ((total > 0.9) & (total < 1.0001)).all()
        assert len(one.char_scores) == len(one.text)


def test_text_and_score_agree_with_the_wheels_own_recogniser(words, peer):
    ours = Scene().read(words)
    for strip, mine in zip(words, ours, strict=True):
        colour = cv2.cvtColor(strip.pixels, cv2.COLOR_GRAY2BGR)
        theirs = peer(colour, use_det=False, use_cls=False, use_rec=True)
        assert theirs.txts[0] == mine.text
        assert theirs.scores[0] == pytest.approx(mine.score, abs=0.02)


def test_an_answer_does_not_depend_on_what_else_is_in_the_batch(words):
    together = Scene().read([*words, *words[::-1]])
    alone = [Scene().read([word])[0] for word in words]
    for one, other in zip(together, alone + alone[::-1], strict=True):
        assert one.text == other.text
        assert np.exp(one.log_probs) == pytest.approx(np.exp(other.log_probs), abs=0.1)


def test_a_strip_longer_than_the_window_is_read_over_the_seams(words, strip_of):
    word = cv2.resize(words[1].pixels, (114, HEIGHT))
    row = np.concatenate([word] * 30, axis=1)
    assert row.shape[1] > 2 * WINDOW
    (found,) = Scene().read([strip_of(row)])
    assert found.text.replace(" ", "") == "HERE" * 30
    assert len(found.log_probs) == -(-row.shape[1] // STRIDE)


def test_blank_and_tiny_strips_give_empty_texts(strip_of):
    empty = [np.full(shape, 90, np.uint8) for shape in ((48, 400), (3, 2), (1, 1))]
    assert [one.text for one in Scene().read([strip_of(grey) for grey in empty])] == ["", "", ""]
    assert Scene().read([]) == []


@pytest.mark.parametrize("width", [10, WINDOW, WINDOW + 1, 3000, 10 * WINDOW + 7])
def test_windows_join_to_the_whole_width(width):
    row = np.arange(width, dtype=np.int64)[np.newaxis] // STRIDE
    parts = cut(np.repeat(row, HEIGHT, axis=0))
    frames = [
        (part[0, ::STRIDE], np.ones(-(-part.shape[1] // STRIDE)), part[0, ::STRIDE, None])
        for part in parts
    ]
    best, _, _ = join(frames)
    assert best.tolist() == list(range(-(-width // STRIDE)))
    assert OVERLAP % (2 * STRIDE) == 0


def test_batches_hold_every_strip_once_and_stay_narrow():
    widths = [40, 2000, 45, 300, 310, 1280, 50] * 5
    groups = list(batches(widths))
    assert sorted(k for group in groups for k in group) == list(range(len(widths)))
    assert all(len(g) == 1 or max(widths[k] for k in g) * len(g) <= 6400 for g in groups)


def test_decoding_drops_repeats_and_blanks_as_ctc_says():
    best = np.array([0, 1, 1, 0, 1, 2, 2, 0])
    assert decode(best, np.full(8, 0.5, np.float32), ["a", "b"]) == ("aab", (0.5, 0.5, 0.5))


def _read_word(strip):
    return Scene().read([strip])[0].text


def test_a_forked_child_opens_its_own_model(words):
    Scene().read(words)
    with multiprocessing.get_context("fork").Pool(1) as pool:
        assert pool.apply_async(_read_word, (words[0],)).get(timeout=60) == "CHINA"


def test_it_says_which_model_is_in_use():
    assert "PP-OCRv6 small" in Scene().describe()


def test_without_the_wheel_the_error_says_what_to_install(monkeypatch):
    monkeypatch.setattr(scene_models, "PACKAGE", "rapidocr_that_is_not_there")
    with pytest.raises(EngineError, match="missing") as caught:
        Scene().describe()
    assert "pip install" in caught.value.remedy


def test_only_the_wheels_files_are_used_never_its_code():
    code = (
        "import sys, numpy as np\n"
        "from reader.ocr import scene_find, scene_models\n"
        "scene_models.session(scene_models.RECOGNISER)\n"
        "scene_find.find(np.zeros((64, 64, 3), np.uint8))\n"
        "print('rapidocr' in sys.modules)\n"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"
