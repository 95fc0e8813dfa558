"""Pieces of one line that stand apart: '63    -    559' set wide, or a spoke across the numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reader.detect.trace import DRAWN_OUT
from reader.photo.rectify import flip
from reader.records import Floats, Region

WIDEST = 7.0  # heights between two pieces of one line
BENT = 0.38  # radians between a piece's end and the way to the next piece
UNEVEN = 0.22  # radians by which the two bends of an arc may differ; two rows bend there and back
ALIKE = 1.35  # ratio of two heights
TANGENT = 1.5  # heights over which a piece's direction is taken at its end


def joined(regions: Sequence[Region]) -> list[Region]:
    """Pairs of pieces that continue each other, each pair as one region in the first's direction.

    Args:
        regions: of one photo, the most trusted first: where two disagree about the reading
            direction, the earlier one's counts.
    """
    ends = [(_trimmed(region), _trimmed(flip(region))) for region in regions]
    found = []
    for k, one in enumerate(regions):
        for m in range(k + 1, len(regions)):
            if not 1 / ALIKE < one.height / regions[m].height < ALIKE:
                continue
            near = max(one.height, regions[m].height)
            for ahead in (True, False):
                line = _together(ends[k][0 if ahead else 1], ends[m], near)
                if line is not None:
                    height = (one.height + regions[m].height) / 2
                    score = min(one.score, regions[m].score)
                    whole = replace(one, centreline=line, height=height, score=score)
                    found.append(whole if ahead else flip(whole))
    return found


def _trimmed(region: Region) -> Floats:
    """The centre line without what was drawn out at its last end."""
    line = region.centreline
    rest = np.hypot(*(line - line[-1]).T)
    kept = line[rest >= DRAWN_OUT * region.height]
    return kept if len(kept) >= 2 else line


def _together(one: Floats, other: tuple[Floats, Floats], height: float) -> Floats | None:
    """`one`, then the other line from its nearer end on, if it continues there."""
    for way in other:
        start = way[::-1]  # the end that was trimmed comes first
        step = start[0] - one[-1]
        gap = float(np.hypot(*step))
        if not 0.3 * height < gap < WIDEST * height:  # nearer pieces are one already
            continue
        leaving = _bend(_heading(one, height), step)
        arriving = _bend(step, -_heading(way, height))
        if max(abs(leaving), abs(arriving)) < BENT and abs(leaving - arriving) < UNEVEN:
            return np.vstack([one, start]).astype(np.float32)
    return None


def _heading(line: Floats, height: float) -> Floats:
    """Unit vector out of a line's last end."""
    away = np.hypot(*(line - line[-1]).T)
    far = np.flatnonzero(away >= min(TANGENT * height, float(away.max())))
    step = line[-1] - line[far[-1]]
    return np.asarray(step / max(float(np.hypot(*step)), 1e-6), np.float32)


def _bend(one: Floats, other: Floats) -> float:
    """Angle from one direction to the other, radians, signed."""
    return float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
