"""The automaton where more prefixes live than it may follow, and on strips that say nothing."""

import numpy as np
import pytest
from drawn_letters import ALPHABET, evidence

from reader.markings import arcs
from reader.markings.automaton import score
from reader.markings.trie import compile_trie


def trie_of(texts):
    return compile_trie(("test", text, {"text": text}) for text in texts)


TEXTS = [f"{width}-{bsd}" for width in range(20, 60) for bsd in (406, 507, 559, 622)]


@pytest.mark.parametrize("beam", [3, 10, 1000])
def test_a_clear_text_is_found_however_few_prefixes_are_followed(monkeypatch, beam):
    whole = score(evidence("47-507"), ALPHABET, trie=trie_of(TEXTS))
    monkeypatch.setattr(arcs, "BEAM", beam)
    (found, *_) = score(evidence("47-507"), ALPHABET, trie=trie_of(TEXTS))
    assert (found.text, found.span) == ("47-507", (0, 6))
    assert found.cost == pytest.approx(whole[0].cost, abs=1e-4)


def test_a_flat_strip_says_nothing(monkeypatch):
    monkeypatch.setattr(arcs, "BEAM", 20)
    flat = np.log(np.full((60, len(ALPHABET) + 1), 1 / (len(ALPHABET) + 1), np.float32))
    assert all(found.cost > 1 for found in score(flat, ALPHABET, trie=trie_of(TEXTS)))
