"""All engines keep the same promise; folding and reducing letters."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader import ocr
from reader.errors import EngineError
from reader.ocr.alphabet import ALPHABET
from reader.ocr.reduce import folding, one_letter, reduce


@pytest.mark.parametrize("kind", ocr.ENGINES)
def test_an_engine_gives_one_hypothesis_per_strip_in_order(kind, words):
    found = kind().read(words)
    assert [one.strip for one in found] == words
    for one in found:
        assert one.engine == kind.name
        assert 0 <= one.score <= 1
        if one.log_probs is not None:
            assert one.log_probs.shape[1] == 1 + len(one.alphabet)
            assert np.isfinite(one.log_probs).all()
    assert kind().describe()


def test_an_engine_is_got_by_its_name_and_names_differ():
    names = [kind.name for kind in ocr.ENGINES]
    assert len(set(names)) == len(names)
    assert [ocr.engine(name).name for name in names] == names


def test_an_unknown_engine_is_an_error_that_names_the_known():
    with pytest.raises(EngineError) as caught:
        ocr.engine("crystal ball")
    assert "tesseract" in caught.value.remedy


@pytest.mark.parametrize("letter", ALPHABET)
def test_letters_of_the_alphabet_stand_for_themselves(letter):
    assert one_letter(letter) == letter
    assert one_letter(letter.lower()) == letter


@given(st.characters())
def test_every_other_letter_stands_for_one_of_the_alphabet_or_none(letter):
    assert one_letter(letter) in {"", *ALPHABET}


def test_look_alikes_are_summed_and_strangers_left_out():
    classes = ["x", "X", "×", "5", "中"]
    chances = np.array([[0.1, 0.2, 0.2, 0.1, 0.1, 0.3]], dtype=np.float32)
    table = np.exp(reduce(chances, *folding(classes)))
    assert table[0, 0] == pytest.approx(0.1)
    assert table[0, 1 + ALPHABET.index("X")] == pytest.approx(0.5)
    assert table[0, 1 + ALPHABET.index("5")] == pytest.approx(0.1)
    assert table.sum() == pytest.approx(0.7, abs=1e-4)
