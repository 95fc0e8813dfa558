"""Signs that look alike, each way round, and quotes folded to one."""

from __future__ import annotations

import pytest

from reader.markings import parse_text
from reader.text.confusables import ALIKE, LOOKS_LIKE, UNLIKELY_ALIKE, alike, shapes, wordlike
from reader.text.normalise import fold


@pytest.mark.parametrize(
    ("meant", "seen"),
    [  # pairs that engines confuse; common practice, no source
        ("0", "O"), ("0", "D"), ("1", "I"), ("1", "L"), ("2", "Z"), ("5", "S"), ("6", "G"),
        ("8", "B"), ("9", "G"), ("D", "O"), ("D", "0"), ("C", "G"), ("C", "O"), ("/", "1"),
        ("4", "A"), ("7", "T"),
    ],
)  # fmt: skip
def test_a_sign_may_be_seen_as_its_look_alike(meant: str, seen: str) -> None:
    assert seen in alike(meant) and alike(meant)[seen] in (ALIKE, UNLIKELY_ALIKE)
    assert 0 < shapes(meant)[seen] < 3


def test_all_signs_of_the_table_are_single() -> None:
    for meant, seen in LOOKS_LIKE.items():
        assert len(meant) == 1 and all(len(sign) == 1 for sign in seen)
        assert meant not in seen


@pytest.mark.parametrize("word", ["TUBELESS", "MAGDEBURG"])
def test_letters_of_a_word_are_seen_as_digits(word: str) -> None:
    import re

    damaged = {"O": "0", "I": "1", "L": "1", "S": "5", "B": "8", "Z": "2", "G": "6", "D": "0"}
    pattern = re.compile(wordlike(word))
    assert pattern.fullmatch(word)
    for place, letter in enumerate(word):
        if letter in damaged:
            assert pattern.fullmatch(word[:place] + damaged[letter] + word[place + 1 :])


@pytest.mark.parametrize("sign", ['"', "\u201d", "\u2033", "''", ""])
def test_an_inch_sign_in_every_writing_changes_nothing(sign: str) -> None:
    (found,) = [m for m in parse_text(f"26{sign} x 1.75") if m.notation == "inch_decimal"]
    assert (found.text, found.cost) == ("26 x 1.75", 0.0)
    assert fold(f"26{sign} x 1.75")[0].startswith("26")
