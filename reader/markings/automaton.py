"""Scores every marking that the grammar allows against letter probabilities, not one string.

A strip holds other text before and after the marking, so this is keyword spotting with a
connectionist temporal classification (CTC) automaton: the frames outside the marking are read
freely, the frames inside must spell the marking. Costs are taken relative to the best letter of
each frame, so free frames cost nothing and a marking that the freest reading spells costs nothing.

The best path is scored (Viterbi), not the sum over paths: the freest reading it is compared with
is a best path too, costs then only grow along a path, so that cutting at the budget loses nothing,
and the path tells where the marking stands. The tree is walked level by level; all living nodes of
a level advance together, one vector operation a frame.

The collapse rule (repeats, then blanks) follows Graves et al., 'Connectionist temporal
classification', ICML 2006, section 3.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reader.markings import BY_NAME, PAIRS
from reader.markings.arcs import Found, Level, cheapest, fold, place, walk
from reader.markings.trie import Spelling, Trie, all_notations
from reader.records import Floats, Marking
from reader.text.ctc import runs

BUDGET = 12.0  # natural-log cost beyond which a marking is not worth telling
KEEP = 16
GLUED_PENALTY = 4.0  # a digit right before or after, so that it may be part of a longer number
JOINED_PENALTY = 1.0  # the same where that number is a size in another notation: a lost space
JOINED_CLEAR = 2.5  # cost up to which it is one
LETTER_WORTH = 2.0  # what explaining one more letter is worth against reading it as free text
PART_CAP = 4.0
SEEN_AFTER = 7  # letters behind a spelling that a notation may look at


def score(
    log_probs: Floats,
    alphabet: str,
    *,
    trie: Trie | None = None,
    budget: float = BUDGET,
    keep: int = KEEP,
) -> tuple[Marking, ...]:
    """Score all spellings against one strip and tell the best, cheapest first.

    Args:
        log_probs: T x C natural logarithms, column 0 is the CTC blank.
        alphabet: the C - 1 letters of the other columns; may hold a space.
        trie: spellings to score; all notations by default.
        budget: highest cost told.
        keep: how many markings at most.

    Returns:
        Markings without hypothesis. `cost` is how much worse the marking is than the freest
        reading of the same frames, plus that reading's own doubt about them, plus penalties for
        digits glued to it and for being part of a longer marking that reads as well. `span`
        counts letters of the greedy reading.
    """
    if len(log_probs) == 0:
        return ()
    trie = all_notations() if trie is None else trie
    frames = fold(log_probs, alphabet, trie.letters, budget)
    levels = walk(trie, frames, budget)
    found = [place(trie, frames, levels, one) for one in cheapest(trie, levels, 2 * keep)]
    return _tell(trie, levels, found, log_probs, alphabet, budget)[:keep]


def greedy(log_probs: Floats, alphabet: str) -> list[tuple[str, int, int]]:
    """The freest reading: (letter, first frame, last frame) of each, repeats collapsed."""
    return [(alphabet[k - 1], a, b) for k, a, b in runs(log_probs.argmax(axis=1))]


def _tell(
    trie: Trie,
    levels: list[Level],
    found: list[Found],
    log_probs: Floats,
    alphabet: str,
    budget: float,
) -> tuple[Marking, ...]:
    letters = greedy(log_probs, alphabet)
    doubt = np.r_[0.0, np.cumsum(-log_probs.max(axis=1))]
    stands = [
        _stand(trie, levels, one, found, doubt, *_surroundings(letters, one, " " in alphabet))
        for one in found
    ]
    told: dict[tuple, Marking] = {}
    for stand in stands:
        for notation, text, numbers in stand.ends:
            cost = stand.cost + sum(
                GLUED_PENALTY if not _joined(notation, stand, side, stands) else JOINED_PENALTY
                for side in stand.glued
            )
            known = BY_NAME.get(notation)
            if known and known.doubtful(_before(letters, stand), text, _after(letters, stand)):
                cost += GLUED_PENALTY
            key = (notation, tuple(sorted(numbers.items())))
            if cost <= budget and (key not in told or cost < told[key].cost):
                told[key] = Marking(notation, text, numbers, stand.span, cost)
    return tuple(sorted(told.values(), key=lambda marking: marking.cost))


def _before(letters: list[tuple[str, int, int]], stand: _Stand) -> str:
    """The letter that touches a spelling's first."""
    return letters[stand.span[0] - 1][0] if stand.span[0] > 0 else ""


def _after(letters: list[tuple[str, int, int]], stand: _Stand) -> str:
    """The letters that follow a spelling's last, spaces included."""
    return "".join(letter for letter, _, _ in letters[stand.span[1] : stand.span[1] + SEEN_AFTER])


@dataclass(frozen=True, eq=False)
class _Stand:
    """A spelling in its line: what it can be, its span of letters, on which sides a number goes on.

    `cost` leaves those sides out; a side is 0 (before) or 1 (behind).
    """

    ends: tuple[Spelling, ...]
    span: tuple[int, int]
    cost: float
    glued: tuple[int, ...]


def _stand(
    trie: Trie,
    levels: list[Level],
    one: Found,
    found: list[Found],
    doubt: Floats,
    span: tuple[int, int],
    glued: tuple[int, ...],
) -> _Stand:
    node = int(levels[one.level].nodes[one.column])
    unsure = float(doubt[one.end + 1] - doubt[one.begin]) / (one.end + 1 - one.begin)
    cost = one.cost + unsure * (one.level + 1) + _part_penalty(one, found)
    return _Stand(trie.ends[node], span, cost, glued)


def _joined(notation: str, stand: _Stand, side: int, stands: list[_Stand]) -> bool:
    """Whether the number that goes on is a size in another notation: 37-34916x1 3/8."""
    return any(
        other.span[1 - side] == stand.span[side]
        and other.cost <= JOINED_CLEAR
        and any((one in PAIRS) != (notation in PAIRS) for one, _, _ in other.ends)
        for other in stands
        if other.span[1] > other.span[0]
    )


def _part_penalty(one: Found, found: list[Found]) -> float:
    """How much worse it explains the frames of a longer marking that holds it."""
    best = 0.0
    for other in found:
        extra = other.level - one.level
        if extra > 0 and other.begin <= one.begin and one.end <= other.end:
            best = max(best, one.cost + LETTER_WORTH * extra - other.cost)
    return min(best, PART_CAP)


def _surroundings(
    letters: list[tuple[str, int, int]], one: Found, knows_spaces: bool
) -> tuple[tuple[int, int], tuple[int, ...]]:
    """The span in the greedy reading, and on which sides a number goes on."""
    begin, end = one.begin, one.end
    inside = [i for i, (_, first, last) in enumerate(letters) if last >= begin and first <= end]
    if not inside:
        return (0, 0), ()
    start, stop = inside[0], inside[-1] + 1
    pitch = (end - begin + 1) / len(inside)
    glued = []
    for side, nearest, beyond, step in ((0, start - 1, start - 2, -1), (1, stop, stop + 1, 1)):
        if not 0 <= nearest < len(letters):
            continue
        letter, first, last = letters[nearest]
        if not knows_spaces:  # then only a wide gap tells that a new word begins
            gap = begin - last if step < 0 else first - end
            if gap > 1.5 * pitch:  # a letter's width and a half: something stands between
                continue
        if letter in ".,/" and 0 <= beyond < len(letters):
            letter = letters[beyond][0]
        if letter.isdigit():
            glued.append(side)
    return (start, stop), tuple(glued)
