"""All texts that the automaton scores, compiled once into a prefix tree held in flat arrays.

Spaces are not letters here: engines drop and invent them too easily. Each node only remembers
whether a space before its letter is natural.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
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


def _letters(texts: Sequence[str]) -> tuple[str, NDArray[np.uint16], NDArray[np.bool_]]:
    """The texts without their spaces, one a row.

    Returns:
        All letters; texts x longest, each letter's place among them, counted from 1, 0 behind the
        end; the same size, whether a space before the letter is natural.
    """
    codes, sign = np.unique(
        np.frombuffer("".join(texts).encode("utf-32-le"), np.uint32), return_inverse=True
    )
    signs = [chr(code) for code in codes]
    is_space = np.array([one.isspace() for one in signs], np.bool_)
    kept = np.flatnonzero(~is_space[sign])
    letter = np.cumsum(~is_space)[sign[kept]]
    digit = np.array([one.isdigit() for one in signs], np.bool_)[sign[kept]]
    length = np.array([len("".join(text.split())) for text in texts], np.intp)
    row = np.repeat(np.arange(len(texts)), length)
    column = np.arange(len(kept)) - (np.cumsum(length) - length)[row]
    # Around dashes and crosses a space says nothing; between digits it may part two numbers.
    natural = np.ones(len(kept), np.bool_)
    natural[1:] = (np.diff(kept) > 1) | ~(digit[1:] & digit[:-1]) | (column[1:] == 0)
    size = (len(texts), int(length.max(initial=0)))
    rows, spaced = np.zeros(size, ">u2"), np.zeros(size, np.bool_)
    rows[row, column], spaced[row, column] = letter, natural
    return "".join(one for one in signs if not one.isspace()), rows, spaced


def compile_trie(spellings: Iterable[Spelling]) -> Trie:
    """Compile spellings (notation, text, numbers); texts are taken in upper case."""
    listed = list(spellings)
    letters, rows, natural = _letters([text.upper() for _, text, _ in listed])
    # In the order of their letters, texts that begin alike stand together.
    as_text = rows.view(f"S{2 * rows.shape[1]}").ravel() if rows.size else np.zeros(len(listed))
    order = np.argsort(as_text, kind="stable")
    parent, letter, spaced, node = _nodes(rows[order], natural[order])
    count = np.bincount(parent, minlength=len(letter))
    node[order] = node.copy()
    ends: dict[int, list[Spelling]] = {}
    for end, spelling in zip(node.tolist(), listed, strict=True):
        ends.setdefault(end, []).append(spelling)
    ends.pop(0, None)  # texts of spaces alone
    is_end = np.zeros(len(letter), np.bool_)
    is_end[list(ends)] = True
    return Trie(
        letters=letters,
        letter=letter,
        first=1 + np.cumsum(count) - count,
        count=count,
        spaced=spaced,
        ends={end: tuple(some) for end, some in ends.items()},
        is_end=is_end,
    )


def _nodes(
    rows: NDArray[np.uint16], natural: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.bool_], NDArray[np.intp]]:
    """The tree's nodes, level by level: parent of each but the root, letter, whether spaced.

    Last the node at which each of the sorted texts ends.
    """
    begins = np.ones(rows.shape, np.bool_)  # a node: where a beginning is not the one above
    begins[1:] = np.logical_or.accumulate(rows[1:] != rows[:-1], axis=1)
    node = np.zeros(len(rows), np.intp)  # which each text has reached
    parent, letter, spaced = [node[:0]], [np.zeros(1, np.intp)], [np.zeros(1, np.bool_)]
    total = 1
    for depth in range(rows.shape[1]):
        alive = np.flatnonzero(rows[:, depth])
        new = begins[alive, depth]
        which = np.cumsum(new) - 1
        parent.append(node[alive[new]])
        letter.append(rows[alive[new], depth].astype(np.intp) - 1)
        spaced.append(np.bincount(which, natural[alive, depth]) > 0)
        node[alive] = total + which
        total += len(parent[-1])
    return np.concatenate(parent), np.concatenate(letter), np.concatenate(spaced), node


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
