"""The walk of the automaton: costs of every prefix of the tree at every frame, level by level.

All living nodes of a level advance together, one vector operation a frame. Costs only grow along
a path, so that cutting at the budget loses nothing below it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from reader.markings.trie import Trie
from reader.records import Floats
from reader.text.confusables import shapes
from reader.text.normalise import SAME

BEAM = 1000  # living nodes a level; only flat, unreadable strips come near it
SPACE_PENALTY = 1.0  # a space inside a number
BLANK_SURE = 0.99

# What engines write for the same sign; upper and lower case count as the same letter anyway.
WRITTEN_SO = SAME | {"X": SAME["X"] + "*", ".": SAME["."] + ","}


@dataclass(frozen=True, eq=False)
class Frames:
    """Costs per frame, runs of sure blanks folded into one; T frames, A letters of the tree."""

    letter: Floats  # T x A, relative cost
    gap: Floats  # T x 2: between letters, where a space is penalised, and where it is natural
    first: NDArray[np.intp]  # T: first and last frame that each stands for
    last: NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Level:
    """One level of the walk: n nodes, and u ways of resting before their letters; all T frames."""

    nodes: NDArray[np.intp]
    parent: NDArray[np.intp]  # n: column of the parent in the level above
    spell: Floats  # T x n, cost so far when in the node's letter at this frame
    way: NDArray[np.intp]  # n: column in `rest`
    rest: Floats  # T x u, cost so far when in the blanks or spaces before


@dataclass(frozen=True)
class Found:
    """A spelling's end that the walk reached, and where it stands."""

    level: int
    column: int
    cost: float
    begin: int = 0  # frames of the strip, both included
    end: int = 0


def fold(log_probs: Floats, alphabet: str, letters: str, budget: float) -> Frames:
    """Turn log-probabilities (T x C, blank first) into costs, with blank runs folded.

    A letter lost inside a folded run still costs its best frame there.
    """
    top = log_probs.max(axis=1, keepdims=True)
    cost = np.minimum(top - log_probs, np.float32(budget + 1)).astype(np.float32)
    sure = log_probs[:, 0] > np.log(BLANK_SURE)
    # A frame opens a new group unless it and the one before are both sure blanks.
    opens = np.r_[True, ~(sure[1:] & sure[:-1])]
    first = np.flatnonzero(opens)
    cost = np.minimum.reduceat(cost, first, axis=0)
    letter = np.full((len(cost), len(letters)), budget + 1, np.float32)
    for i, j, more in _columns(alphabet, letters):
        letter[:, i] = -np.logaddexp(-letter[:, i], -(cost[:, j] + more))
    np.maximum(letter, 0, out=letter)
    gap = np.repeat(cost[:, :1], 2, axis=1)
    if " " in alphabet:
        space = cost[:, alphabet.index(" ") + 1]
        gap[:, 0] = np.minimum(gap[:, 0], space + SPACE_PENALTY)
        gap[:, 1] = np.minimum(gap[:, 1], space)
    return Frames(letter, gap, first, np.r_[first[1:], len(log_probs)] - 1)


@lru_cache(maxsize=8)
def _columns(alphabet: str, letters: str) -> tuple[tuple[int, int, np.float32], ...]:
    """Which columns can stand for which letters of the tree, and what each costs more."""
    found = []
    for i, wanted in enumerate(letters):
        like = dict.fromkeys(wanted + WRITTEN_SO.get(wanted, ""), 0.0) | shapes(wanted)
        for j, given in enumerate(alphabet, start=1):
            if given.upper() in like:
                found.append((i, j, np.float32(like[given.upper()])))
    return tuple(found)


def walk(trie: Trie, frames: Frames, budget: float) -> list[Level]:
    """Advance all prefixes through all frames; one entry a level, empty where nothing lives."""
    # The cheapest that each letter can still become from a frame on: a bound to cut by.
    ahead = np.minimum.accumulate(frames.letter[::-1], axis=0)[::-1]
    ahead = np.vstack([ahead, np.full((1, ahead.shape[1]), np.inf, np.float32)])
    level = _first(trie, frames, budget)
    levels: list[Level] = []
    while len(level.nodes):
        levels.append(level)
        nodes, parent = trie.children(level.nodes)
        opened = (level.spell <= budget).argmax(axis=0)[parent] + 1
        bound = level.spell.min(axis=0)[parent] + ahead[opened, trie.letter[nodes]]
        kept = _cut(bound, budget)
        level = _next(trie, frames, level, nodes[kept], parent[kept], budget)
    return levels


def _first(trie: Trie, frames: Frames, budget: float) -> Level:
    nodes, parent = trie.children(np.zeros(1, np.intp))
    spell = frames.letter[:, trie.letter[nodes]]  # a marking may start at any frame for nothing
    alive = spell.min(axis=0) <= budget
    return Level(nodes[alive], parent[alive], spell[:, alive], parent[alive], frames.gap[:, :0])


def _cut(bound: Floats, budget: float) -> NDArray[np.intp]:
    kept = np.flatnonzero(bound <= budget)
    if len(kept) > BEAM:
        kept = np.sort(kept[np.argpartition(bound[kept], BEAM)[:BEAM]])
    return kept


def _next(
    trie: Trie,
    frames: Frames,
    above: Level,
    nodes: NDArray[np.intp],
    parent: NDArray[np.intp],
    budget: float,
) -> Level:
    # Children of one parent share the way in, unless a letter follows its like (which needs a
    # blank between) or a space before it is natural.
    twin = trie.letter[nodes] == trie.letter[above.nodes][parent]
    # three answers packed into one number
    ways, way = np.unique(4 * parent + 2 * trie.spaced[nodes] + twin, return_inverse=True)
    before = above.spell[:, ways // 4]
    rest = _advance(before, frames.gap, ways // 2 % 2)
    enter = np.minimum(rest, np.where(ways % 2, np.float32(np.inf), before))
    spell = _advance(enter[:, way], frames.letter, trie.letter[nodes])
    alive = spell.min(axis=0) <= budget
    return Level(nodes[alive], parent[alive], spell[:, alive], way[alive], rest)


def _advance(enter: Floats, cost: Floats, column: NDArray[np.intp]) -> Floats:
    """`out[t] = cost[t, column] + min(out[t-1], enter[t-1])` (T x n); `inf` at frame 0."""
    out = np.empty(enter.shape, np.float32)
    out[0] = np.inf
    for t in range(1, len(out)):
        row = out[t]
        np.minimum(out[t - 1], enter[t - 1], out=row)
        row += cost[t].take(column, mode="clip")
    return out


def cheapest(trie: Trie, levels: list[Level], limit: int) -> list[Found]:
    """The `limit` cheapest ends of spellings; of equals, the longer first."""
    found: list[Found] = []
    for depth, level in enumerate(levels):
        columns = np.flatnonzero(trie.is_end[level.nodes])
        best = level.spell[:, columns].min(axis=0, initial=np.inf)
        some = np.argsort(best)[:limit]
        found += [Found(depth, int(columns[i]), float(best[i])) for i in some]
    return sorted(found, key=lambda one: (one.cost, -one.level))[:limit]


def place(trie: Trie, frames: Frames, levels: list[Level], one: Found) -> Found:
    """Walk the best path back to its first frame."""
    column = one.column
    t = end = int(levels[one.level].spell[:, column].argmin())
    for depth in range(one.level, 0, -1):
        level, above = levels[depth], levels[depth - 1]
        up = level.parent[column]
        twin = trie.letter[level.nodes[column]] == trie.letter[above.nodes[up]]
        t = _step_back(
            t,
            level.spell[:, column].tolist(),
            level.rest[:, level.way[column]].tolist(),
            above.spell[:, up].tolist(),
            bool(twin),
        )
        column = int(up)
    spell = levels[0].spell[:, column]
    while t > 0 and spell[t - 1] <= 0:
        t -= 1
    return Found(one.level, one.column, one.cost, int(frames.first[t]), int(frames.last[end]))


def _step_back(
    t: int, spell: list[float], rest: list[float], above: list[float], twin: bool
) -> int:
    """From a frame in one letter to the last frame in the letter before it."""
    while spell[t - 1] < min(rest[t - 1], math.inf if twin else above[t - 1]):
        t -= 1
    t -= 1
    if twin or rest[t] < above[t]:
        while rest[t - 1] < above[t - 1]:
            t -= 1
        t -= 1
    return t
