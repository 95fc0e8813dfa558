"""Looks laid beside each other letter by letter. The texts are the tests' own."""

import numpy as np
import pytest

from reader.markings import automaton
from reader.ocr.alphabet import ALPHABET
from reader.sweep.vote import Letters, Vote

HEIGHT = 20.0
PITCH = 14.0


def look(text, start=0.0, sure=0.95, doubts=None, weight=1.0, shift=(0.0, 0.0), runs=None):
    """A look at `text`, its first letter `start` letters along the line; '?' is covered.

    `doubts` maps a place to {letter: probability}; `runs` how many letters the strip is long.
    """
    doubts = doubts or {}
    places, logs = [], []
    for k, letter in enumerate(text):
        if letter == "?":
            continue
        shares = np.full(len(ALPHABET) + 1, (1 - sure) / len(ALPHABET))
        shares[ALPHABET.index(letter) + 1] = sure
        for other, share in doubts.get(k, {}).items():
            shares[ALPHABET.index(other) + 1] = share
        logs.append(np.log(shares / shares.sum()))
        places.append((start + k) * PITCH)
    spots = np.array([(x, 50.0) for x in places], np.float32).reshape(-1, 2) + np.float32(shift)
    count = runs or len(text)
    line = np.array([((start - 0.5 + k) * PITCH, 50.0) for k in range(count + 1)], np.float32)
    frames = np.full((4 * count, len(ALPHABET) + 1), -12.0, np.float32)
    frames[:, 0] = -0.001
    for x, top in zip(places, logs, strict=True):
        frames[int((x / PITCH - start + 0.5) * 4)] = top
    return Letters(
        spots,
        np.array(logs, np.float32),
        np.ones(len(spots), bool),
        line + np.float32(shift),
        frames,
        HEIGHT,
        weight,
    )


def voted(*looks, independent=0.5):
    vote = Vote()
    for one in looks:
        vote.add(one)
    return vote.hypothesis(HEIGHT, independent, ALPHABET)


def best(hypothesis):
    return automaton.score(hypothesis.log_probs, ALPHABET)[0]


def test_one_look_is_read_as_it_is():
    assert voted(look("47-507")).text == "47-507"


def test_a_digit_covered_in_one_look_is_taken_from_another():
    seen = voted(look("4?-507"), look("47-50?"), look("?7-507"))
    assert seen.text == "47-507"
    assert best(seen).text == "47-507"


def test_pieces_seen_one_after_the_other_are_laid_together():
    whole = "700X40C 40-622"
    windows = [look(whole[k : k + 7], start=k) for k in range(len(whole) - 6)]
    assert voted(*windows).text == whole


def test_a_misread_digit_is_outvoted():
    wrong = look("32-622", doubts={0: {"3": 0.6, "4": 0.4}})
    right = look("42-622")
    assert best(voted(right, wrong, right)).text == "42-622"


def test_a_look_that_tracking_laid_off_by_two_letters_is_put_right():
    seen = voted(look("47-507"), look("47-507", shift=(2 * PITCH, 3.0)), look("47-507"))
    assert seen.text == "47-507"


def test_a_look_at_something_else_changes_nothing():
    seen = voted(look("47-507"), look("47-507"), look("TUBELESS", shift=(3.0, 0.0)))
    assert seen.text == "47-507"


@pytest.mark.parametrize("count", [4, 16])
def test_the_same_doubt_seen_again_and_again_gets_no_surer_than_looks_are_worth(count):
    doubtful = {0: {"3": 0.45, "8": 0.55}}
    once = voted(look("32-622", doubts=doubtful))
    often = voted(*[look("32-622", doubts=doubtful) for _ in range(count)])
    assert 0 < odds(often) <= count**0.5 * odds(once) * 1.01


def odds(hypothesis):
    """Natural-log odds of 8 against 3 where the first letter stands."""
    frame = hypothesis.log_probs[hypothesis.log_probs[:, 1:].max(1) > -2][0]
    return frame[ALPHABET.index("8") + 1] - frame[ALPHABET.index("3") + 1]


def test_nothing_seen_gives_nothing():
    assert Vote().hypothesis(HEIGHT, 0.5, ALPHABET) is None
