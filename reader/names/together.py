"""Several markings in one typed text, put together: shares of the same diameter multiply."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from reader.language import N_
from reader.markings import MEASURES
from reader.names.meaning import Meaning
from reader.names.meanings import meanings
from reader.records import Marking
from reader.tables import Tables

ABSENT = 0.002  # share of a size that one of several texts does not name
ABSENT_FROM_PAIR = 0.0005  # the pair outweighs the other texts

Group = tuple[tuple[Meaning, ...], bool]
"""Meanings of one place in the text, and whether it measures (a pair) or only names."""


def groups_of(markings: Sequence[Marking], tables: Tables, market: str) -> list[Group]:
    """Meanings of each place in the text; of texts that overlap, the longest that means anything.

    A dash between two numbers is kept with the tyre's reading of it, which holds the rim's too.
    """
    groups: list[Group] = []
    taken: list[tuple[int, int]] = []
    for marking in sorted(markings, key=lambda one: (one.span[0] - one.span[1], one.span)):
        start, end = marking.span
        if any(start < right and left < end for left, right in taken):
            continue
        group = group_of(marking, tables, market)
        if group[0]:
            taken.append((start, end))
            groups.append(group)
    return groups


def group_of(marking: Marking, tables: Tables, market: str) -> Group:
    """What one marking means, and whether it measures."""
    found = meanings(marking.notation, marking.numbers, tables, market)
    return found, marking.notation in MEASURES


def combine(groups: Sequence[Group]) -> tuple[tuple[Meaning, ...], tuple[str, ...]]:
    """All meanings by falling share, and a sentence for each two texts that share no diameter."""
    if len(groups) == 1:
        return groups[0][0], ()
    best: dict[tuple[int, str], Meaning] = {}
    for group, _ in sorted(groups, key=lambda one: not one[1]):  # the pair gives the width
        for one in group:
            best.setdefault((one.size.bsd, one.part), one)
    scores = {
        key: math.prod(
            sum(one.share for one in group if one.size.bsd == key[0])
            or (ABSENT_FROM_PAIR if pair else ABSENT)
            for group, pair in groups
        )
        * meaning.share
        for key, meaning in best.items()
    }
    total = sum(scores.values())
    merged = (replace(one, share=scores[key] / total) for key, one in best.items())
    clash = tuple(
        N_(f"'{_listed(first)}' and '{_listed(second)}' share no size: a slip or a misprint")
        for first, second in combinations((group for group, _ in groups), 2)
        if not {one.size.bsd for one in first} & {one.size.bsd for one in second}
    )
    return tuple(sorted(merged, key=lambda one: (-one.share, one.size.bsd))), clash


def _listed(group: tuple[Meaning, ...]) -> str:
    return " or ".join(dict.fromkeys(str(one.size.bsd) for one in group))
