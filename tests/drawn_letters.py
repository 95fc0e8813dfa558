"""Letter evidence that spells a text, as our recogniser would give it."""

from __future__ import annotations

import numpy as np

ALPHABET = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-./x"


def evidence(text: str, alphabet: str = ALPHABET, sure: float = 0.999, pitch: int = 3):
    """Log-probabilities that spell `text`; 'a|b' in braces shares a frame: {3|8}."""
    columns: list[dict[str, float]] = []
    for token in _tokens(text):
        columns += [{}] * (pitch - 1) + [{letter: sure / len(token) for letter in token}]
    columns.append({})
    probs = np.full((len(columns), len(alphabet) + 1), 1e-6)
    for row, letters in zip(probs, columns, strict=True):
        for letter, share in letters.items():
            row[1 + alphabet.index(letter)] = share
        if not letters:
            row[0] = sure
    return np.log(probs / probs.sum(axis=1, keepdims=True)).astype(np.float32)


def _tokens(text: str) -> list[str]:
    out: list[str] = []
    while text:
        head, _, text = text.partition("}") if text[0] == "{" else (text[0], "", text[1:])
        out.append(head.strip("{").replace("|", "") if head != " " else " ")
    return out
