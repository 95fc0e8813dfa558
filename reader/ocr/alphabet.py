"""The letters that the trained recogniser tells apart, and how other text folds onto them."""

from __future__ import annotations

import re

from reader.text import normalise

ALPHABET = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-./()+:,&\"'%"
"""Column k + 1 of the log-probabilities is ALPHABET[k]; column 0 is the CTC blank."""

_FOLD = str.maketrans("*_~[]|;•", "X--()/:.")  # signs that the alphabet lacks
_SPACES = re.compile(r" +")


def fold(text: str) -> str:
    """Write a text in `ALPHABET`: upper case, X for any times sign, letters outside it dropped.

    >>> fold("47–507 (24×1¾)")
    '47-507 (24X1 3/4)'
    """
    plain = normalise.fold(text.translate(_FOLD))[0]
    kept = "".join(char if char in ALPHABET else " " for char in plain)
    return _SPACES.sub(" ", kept).strip()
