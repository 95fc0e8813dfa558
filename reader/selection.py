"""The markings worth showing or keeping: of all that a line of letters may spell, the plainest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

import numpy as np

from reader.records import Floats, Marking, Photo, Pixels, Region

_OF_A_NOTATION = 12  # kept; what is less clean is only a spelling that was tried
_LONG = 12  # times its height: a strip that is cut to the marking
_ROOM = 2  # times its height, beside the marking


def plainest(markings: Iterable[Marking]) -> Iterator[Marking]:
    """The cleanest marking of each place, cleanest first; no text twice.

    A place is where a marking stands in its line; a line that was read in both directions, or by
    several engines, is one line.
    """
    kept: list[Marking] = []
    for marking in sorted(markings, key=lambda one: one.cost):
        if not any(_same(marking, other) for other in kept):
            kept.append(marking)
            yield marking


def cleanest(markings: Iterable[Marking]) -> tuple[Marking, ...]:
    """The dozen cleanest of each notation in each photo, in the order in which they came."""
    counts: Counter[tuple[str, str]] = Counter()
    kept: set[int] = set()
    everything = list(markings)
    for marking in sorted(everything, key=lambda one: one.cost):
        photo = photo_of(marking)
        kind = marking.notation, photo.name if photo else ""
        counts[kind] += 1
        if counts[kind] <= _OF_A_NOTATION:
            kept.add(id(marking))
    return tuple(marking for marking in everything if id(marking) in kept)


def around(marking: Marking) -> Pixels:
    """The columns of the marking's strip where it stands, with room on both sides; empty if none.

    Letters are taken as equally wide, which is close enough for a picture to look at.
    """
    seen = marking.hypothesis
    if seen is None or seen.strip is None:
        return np.zeros((0, 0), np.uint8)
    pixels = seen.strip.pixels
    (begin, end), (high, wide) = share(marking), pixels.shape[:2]
    if wide < _LONG * high or not 0 <= begin < end <= 1:
        return pixels
    left, right = int(wide * begin) - _ROOM * high, int(wide * end) + _ROOM * high
    return np.ascontiguousarray(pixels[:, max(0, left) : min(wide, right)])


def _same(one: Marking, other: Marking) -> bool:
    if one.text == other.text:
        return True
    here, there = _region(one), _region(other)
    if here is None or there is None:
        return False
    if here is not there:
        if here.photo.name != there.photo.name:
            return False
        apart = here.centreline.mean(0) - there.centreline.mean(0)
        if abs(apart).max() > max(here.height, there.height):
            return False
        if is_opposite(here, there):  # once upright, once upside down
            return True
    (begin, end), (start, stop) = share(one), share(other)
    return begin < stop and start < end


def photo_of(marking: Marking) -> Photo | None:
    """The photo that a marking was read in, where that is known."""
    region = _region(marking)
    return None if region is None else region.photo


def is_opposite(one: Region, other: Region) -> bool:
    """Whether two lines are read in opposite directions."""
    return bool((_direction(one) * _direction(other)).sum() < 0)


def _region(marking: Marking) -> Region | None:
    seen = marking.hypothesis
    return seen.strip.region if seen is not None and seen.strip is not None else None


def _direction(region: Region) -> Floats:
    return region.centreline[-1] - region.centreline[0]


def share(marking: Marking) -> tuple[float, float]:
    """Where in the line the marking stands, from 0 to 1."""
    whole = max(1, len(marking.hypothesis.text) if marking.hypothesis else 1)
    return marking.span[0] / whole, marking.span[1] / whole
