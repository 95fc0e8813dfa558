"""A size that a label sets in two lines: 27" large, below it 'fits tire widths x 1 1/8 - 1 1/4'.

The form is that of the box of a tube, as photographed (fixtures/replay/truth.csv, tube-box-27).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reader.markings import SIZES, parse_text
from reader.records import Hypothesis, Marking, Region
from reader.text.normalise import fold

FEWEST_CERTAIN = 0.7  # mean certainty of each line's letters
APART = 2.5  # heights of the higher line between the two lines
SLANT = 0.26  # radians between them
_DIAMETER = re.compile(r"\W*(\d\d(?:[.,]5)?) ?(?:\"|''|INCH|ZOLL|IN\b)\W*")
# The cross stands before the width, and no number before the cross: the diameter is elsewhere.
_WIDTH = re.compile(
    r"(?:^|[^\d\"'\sA-Z]|[A-Z]\s)\s*[X*] ?(\d[ .-]?\d/\d{1,2}|\d[.,]\d{1,3})(?![\d/])"
)


def across_lines(seen: Sequence[Hypothesis]) -> list[Marking]:
    """Names whose diameter and width stand in two lines of one label.

    Args:
        seen: all readings of one part.

    Returns:
        Size markings, each of the line with the width, dearer by both lines' doubt.
    """
    sure = [one for one in seen if one.strip and one.score >= FEWEST_CERTAIN]
    alone = [(one, match[1]) for one in sure if (match := _DIAMETER.fullmatch(fold(one.text)[0]))]
    if not alone:
        return []
    found: list[Marking] = []
    for line in sure:
        match = _WIDTH.search(fold(line.text)[0])
        near = [pair for pair in alone if match and _is_one_label(pair[0], line)]
        if match and near:
            other, diameter = max(near, key=lambda pair: pair[0].score)
            found += _named(f'{diameter}" x {match[1]}', line, other)
    return found


def _named(text: str, line: Hypothesis, other: Hypothesis) -> list[Marking]:
    """What the two together name; letters' probabilities belong to one line only, so none."""
    score = line.score * other.score
    whole = replace(line, text=text, score=score, log_probs=None, char_scores=())
    return [replace(one, hypothesis=whole) for one in parse_text(text) if one.notation in SIZES]


def _is_one_label(one: Hypothesis, other: Hypothesis) -> bool:
    """Whether two lines stand one above the other, near and the same way up."""
    if one.strip is None or other.strip is None:
        return False
    here, there = one.strip.region, other.strip.region
    if here.photo is not there.photo:
        return False
    turn = _heading(there) - _heading(here)
    if abs(math.remainder(turn, math.tau)) > SLANT:
        return False
    along = np.array([math.cos(_heading(here)), math.sin(_heading(here))])
    mine, its = here.centreline @ along, there.centreline @ along
    beside = min(mine.max(), its.max()) - max(mine.min(), its.min())
    across = np.array([-along[1], along[0]])
    gap = abs(float(np.mean(there.centreline @ across) - np.mean(here.centreline @ across)))
    gap -= (here.height + there.height) / 2
    return bool(beside > 0 and 0 < gap + here.height < APART * max(here.height, there.height))


def _heading(region: Region) -> float:
    """Direction of reading in the photo, radians."""
    step = region.centreline[-1] - region.centreline[0]
    return math.atan2(float(step[1]), float(step[0]))
