"""A general model's thousands of letters summed onto the few that markings are written in."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reader.ocr.alphabet import ALPHABET, fold
from reader.records import Floats

BLANK = 0  # the column of the CTC blank, before the letters

_FLOOR = 1e-7  # keeps the logarithm finite where a model gives no mass at all


def one_letter(letter: str) -> str:
    """The letter of `ALPHABET` that a model's letter stands for, or '' when there is none.

    >>> one_letter("x"), one_letter("×"), one_letter("–"), one_letter("５"), one_letter("中")
    ('X', 'X', '-', '5', '')
    """
    if letter.isspace():
        return " "
    plain = fold(letter)
    return plain if len(plain) == 1 else ""


def folding(classes: Sequence[str]) -> tuple[np.ndarray, np.ndarray]:
    """For a model's classes (the blank left out): which columns to keep, and where each one goes.

    Returns:
        Two equally long int arrays: the model's column (counted with the blank as 0) and the
        column in the reduced table (1 + place in `ALPHABET`).
    """
    pairs = [
        (column, 1 + ALPHABET.index(plain))
        for column, letter in enumerate(classes, start=1)
        if (plain := one_letter(letter))
    ]
    both = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def reduce(probabilities: Floats, source: np.ndarray, target: np.ndarray) -> Floats:
    """Sum a model's probabilities onto `ALPHABET`.

    Args:
        probabilities: T x K, rows summing to 1, column 0 the blank.
        source, target: from `folding`.

    Returns:
        T x (1 + len(ALPHABET)) natural logarithms. Rows may sum to less than 1: what the model
        gave to letters that no marking has is left out, not spread over the others.
    """
    table = np.zeros((probabilities.shape[0], 1 + len(ALPHABET)), dtype=np.float32)
    table[:, BLANK] = probabilities[:, BLANK]
    np.add.at(table.T, target, probabilities[:, source].T)
    return np.log(np.maximum(table, _FLOOR), dtype=np.float32)
