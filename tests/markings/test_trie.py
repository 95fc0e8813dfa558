"""The prefix tree keeps every spelling, and nothing else."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reader.markings.trie import Trie, compile_trie

TEXTS = st.lists(st.text("12X- ", max_size=6), max_size=12)


def written(trie: Trie) -> dict[str, set[str]]:
    """Walk the tree from the root: letters on the way to each end, and the texts that end there."""
    out: dict[str, set[str]] = {}
    todo = [(0, "")]
    while todo:
        node, path = todo.pop()
        if node in trie.ends:
            out[path] = {text for _, text, _ in trie.ends[node]}
        for child in range(trie.first[node], trie.first[node] + trie.count[node]):
            todo.append((child, path + trie.letters[trie.letter[child]]))
    return out


@given(TEXTS)
def test_every_text_ends_at_its_letters(texts):
    expected: dict[str, set[str]] = {}
    for text in texts:
        if text.strip():
            expected.setdefault(text.replace(" ", ""), set()).add(text)
    assert written(compile_trie(("n", text, {}) for text in texts)) == expected


@given(TEXTS)
def test_children_come_in_one_block_after_their_parent(texts):
    trie = compile_trie(("n", text, {}) for text in texts)
    seen = [0]
    for node in range(len(trie.letter)):
        seen += range(trie.first[node], trie.first[node] + trie.count[node])
    assert seen == list(range(len(trie.letter)))
    kids, parent = trie.children(np.arange(len(trie.letter)))
    assert kids.tolist() == seen[1:]
    assert all(
        trie.first[p] <= k < trie.first[p] + trie.count[p]
        for k, p in zip(kids, parent, strict=True)
    )


def test_spaces_are_natural_where_a_text_has_one_and_beside_signs():
    trie = compile_trie([("n", "2 2-1", {}), ("n", "22 1", {})])
    spaced = {}
    todo = [(0, "")]
    while todo:
        node, path = todo.pop()
        spaced[path] = bool(trie.spaced[node])
        for child in range(trie.first[node], trie.first[node] + trie.count[node]):
            todo.append((child, path + trie.letters[trie.letter[child]]))
    assert spaced["22"] and spaced["22-"] and spaced["22-1"] and spaced["221"]
    assert not compile_trie([("n", "22", {})]).spaced[2]
