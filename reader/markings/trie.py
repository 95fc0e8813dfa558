"""All texts that the automaton scores, compiled once into a prefix tree held in flat arrays.

Spaces are not letters here: engines drop and invent them too easily. Each node only remembers
whether a space before its letter is natural.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Spelling = tuple[str, str, Mapping[str, float | str]]  # notation, text, numbers


@dataclass(frozen=True, eq=False)
class Trie:
    """A prefix tree of N nodes in breadth-first order; node 0 is the root.

    `letter` (N, index into `letters`), `first` and `count` (N, the children are the nodes
    `first … first + count - 1`), `spaced` (N, a space before this letter is natural), `ends`
    (node -> the spellings that end there).
    """

    letters: str
    letter: NDArray[np.intp]
    first: NDArray[np.intp]
    count: NDArray[np.intp]
    spaced: NDArray[np.bool_]
    ends: Mapping[int, tuple[Spelling, ...]]
    is_end: NDArray[np.bool_]

    def children(self, nodes: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """All children of `nodes`, and for each the position of its parent in `nodes`."""
        counts = self.count[nodes]
        position = np.repeat(np.arange(len(nodes)), counts)
        start = np.cumsum(counts) - counts
        within = np.arange(len(position)) - start[position]
        return self.first[nodes][position] + within, position


class _Node:
    __slots__ = ("ends", "kids", "spaced")

    def __init__(self) -> None:
        self.kids: dict[str, _Node] = {}
        self.ends: list[Spelling] = []
        self.spaced = False


def _insert(root: _Node, spelling: Spelling) -> None:
    node, before, space = root, "", False
    for letter in spelling[1].upper():
        if letter.isspace():
            space = True
            continue
        node = node.kids.setdefault(letter, _Node())
        # Around dashes and crosses a space says nothing; between digits it may part two numbers.
        node.spaced |= space or not (before.isdigit() and letter.isdigit())
        before, space = letter, False
    if node is not root:
        node.ends.append(spelling)


def compile_trie(spellings: Iterable[Spelling]) -> Trie:
    """Compile spellings (notation, text, numbers); texts are taken in upper case."""
    root = _Node()
    for spelling in spellings:
        _insert(root, spelling)
    order: list[tuple[str, _Node]] = [("", root)]
    first: list[int] = []
    for _, node in order:  # grows while it is walked: breadth first
        first.append(len(order))
        order.extend(node.kids.items())
    letters = "".join(sorted({name for name, _ in order}))
    index = {name: i for i, name in enumerate(letters)}
    ends = {i: tuple(node.ends) for i, (_, node) in enumerate(order) if node.ends}
    is_end = np.zeros(len(order), np.bool_)
    is_end[list(ends)] = True
    return Trie(
        letters=letters,
        letter=np.array([index.get(name, 0) for name, _ in order], np.intp),
        first=np.array(first, np.intp),
        count=np.array([len(node.kids) for _, node in order], np.intp),
        spaced=np.array([node.spaced for _, node in order], np.bool_),
        ends=ends,
        is_end=is_end,
    )


@lru_cache(maxsize=1)
def all_notations() -> Trie:
    """The tree of every spelling of every notation; built at the first call, then kept."""
    from reader.markings import NOTATIONS

    return compile_trie(
        (notation.name, text, numbers)
        for notation in NOTATIONS
        if notation.spellings is not None
        for text, numbers in notation.spellings()
    )
