"""Which lines to look at again first: those that look most like a size."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from reader.records import Hypothesis, Strip

READS_WELL = 0.9  # mean certainty of the letters from which a line is not read upside down too
FEWEST_LETTERS = 4  # of a line that was read well
FEWEST_DIGITS = 2  # of a text that is scored for sizes; the shortest size has three
BLANK_STRETCH = 36  # frames without a letter, four and a half capital heights

# What a size has that other numbers lack: two numbers with a dash or cross between, or a letter
# behind three digits. Signs that engines take for those count too.
_LIKE_A_SIZE = re.compile(r"\d\s?[-~=X×*]\s?\d|\d{3}\s?[A-D]\b|\d\s?/\s?\d", re.IGNORECASE)
_UNIT = re.compile(r"\d\s?(?:PSI|BAR|KPA|KG|LB|TPI|EPI)", re.IGNORECASE)
_LONG_NUMBER = re.compile(r"\d{6,}")


def likeness(hypothesis: Hypothesis) -> tuple[float, float]:
    """How like a size a line was read, to sort by: more is better, and ties by certainty.

    >>> one, other, third = (Hypothesis("e", t, 0.9) for t in ("37-622", "4523", "MAX 65 PSI"))
    >>> likeness(one) > likeness(other) > likeness(third)
    True
    """
    text = hypothesis.text
    # a short size has four digits
    score = min(digits(hypothesis), 4) + bool(_LIKE_A_SIZE.search(text))
    score -= bool(_UNIT.search(text)) + bool(_LONG_NUMBER.search(text))
    return float(score), hypothesis.score


def promising(strips: Sequence[Strip], seen: Sequence[Hypothesis], most: int) -> list[Strip]:
    """The strips that may hold a size, most like one first.

    Args:
        strips: each line once.
        seen: what was read in each; where nothing was, they stay in order.
        most: how many to give.
    """
    open_ones = [k for k in range(len(strips)) if not _is_plain_word(seen[k])]
    order = sorted(open_ones, key=lambda k: likeness(seen[k]), reverse=True)
    return [strips[k] for k in order[:most]]


def _is_plain_word(hypothesis: Hypothesis) -> bool:
    """A line that was read well and is no size: no other engine need see it."""
    return reads_well(hypothesis) and digits(hypothesis) <= FEWEST_DIGITS


def reads_well(hypothesis: Hypothesis) -> bool:
    """Whether a line was read the right way round: upside down it says nothing, or doubtfully."""
    return hypothesis.score >= READS_WELL and len(hypothesis.text.strip()) >= FEWEST_LETTERS


def has_gap(hypothesis: Hypothesis) -> bool:
    """Whether a long stretch was read as nothing: text set the other way round looks like that."""
    if hypothesis.log_probs is None:
        return False
    letters = hypothesis.log_probs.argmax(1).nonzero()[0].tolist()  # the blank is class 0
    ends = [0, *letters, len(hypothesis.log_probs)]
    return max(after - before for before, after in pairwise(ends)) > BLANK_STRETCH


def letters_told(hypothesis: Hypothesis) -> tuple[int, float]:
    """Which of two readings of a line tells more: digits, up to four, then certainty."""
    return min(digits(hypothesis), 4), hypothesis.score  # as above


def digits(hypothesis: Hypothesis) -> int:
    """How many digits were read."""
    return sum(char.isdigit() for char in hypothesis.text)
