"""Which markings compete for one place, and which stand side by side.

Readings of the same letters by several engines, enhancements or overlapping regions are rivals and
one piece of evidence; readings of other letters, or of another photo, are further pieces.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reader.markings import SIZES
from reader.records import Hypothesis, Marking, Region
from reader.resolve.doubts import is_of_pressure, overlap, with_doubt
from reader.resolve.weights import Weights, load_weights
from reader.text.ctc import starts

Points = NDArray[np.float64]

TOO_COSTLY = 7.0  # a place whose best reading costs more says nothing (see weigh.RISE)
SAMPLES = 9  # points along a marking
NEAR = 0.75  # of the text's height: closer lines are the same line
SHARED = 0.35  # of a marking that stands on another: both can't be right (502X40-457)
LIKE_HEIGHT = 1.8  # times as high at most: else it is another line
AT_THE_EDGE = 0.65  # of the text's height, from a letter's middle: the number may go on outside

Spelt = tuple[str, tuple[tuple[str, float | str], ...]]


@dataclass(frozen=True, eq=False)
class Track:
    """Where a marking runs in its photo: SAMPLES x 2 points (x, y) along it, in photo pixels."""

    line: Points
    region: Points  # the same along the whole region
    height: float


@dataclass(frozen=True, eq=False)
class Look:
    """What one engine made of one place in one strip: rival markings, cheapest first."""

    engine: str
    markings: tuple[Marking, ...]
    source: int  # which hypothesis, so that one never counts as two looks at a place
    photo: str = ""
    track: Track | None = None

    @property
    def best(self) -> Marking:
        """The cheapest reading."""
        return self.markings[0]


@dataclass(frozen=True, eq=False)
class Place:
    """A place on the part, and all looks at it."""

    looks: tuple[Look, ...]

    @property
    def best(self) -> Marking:
        """The cheapest reading of all looks."""
        return min((look.best for look in self.looks), key=lambda marking: marking.cost)

    @property
    def photo(self) -> str:
        """Name of the photo, '' where the evidence came without one."""
        return self.looks[0].photo


def spelt(marking: Marking) -> Spelt:
    """What a marking says, wherever it stands: notation and numbers."""
    return marking.notation, tuple(sorted(marking.numbers.items()))


def gather(markings: Iterable[Marking], weights: Weights | None = None) -> tuple[Place, ...]:
    """Group size markings by the place where they were read, clearest place first.

    Costs are raised for the engine's own doubt, for letters that nobody read, for a place that one
    look alone shows, and where the letters are cleanly something else.
    """
    use = load_weights() if weights is None else weights
    by_hypothesis: dict[int, list[Marking]] = {}
    for marking in markings:
        by_hypothesis.setdefault(id(marking.hypothesis), []).append(marking)
    looks: list[Look] = []
    for group in by_hypothesis.values():
        looks += _looks(group, len(looks), use)
    places: list[list[Look]] = []
    for look in sorted(looks, key=lambda one: one.best.cost):
        home = next((place for place in places if _belongs(look, place)), None)
        if home is None:
            places.append([look])
        else:
            home.append(look)
    return tuple(Place(tuple(_together(place, use))) for place in places)


def _together(place: list[Look], use: Weights) -> list[Look]:
    """The looks at a place, dearer by what they say of each other."""
    cost = 0.0
    if len(place) == 1 and place[0].track is not None:
        cost += use.lone  # chance seldom says the same twice
    texts = [one.best.hypothesis.text for one in place if one.best.hypothesis is not None]
    more = [cost + use.beside_pressure * is_of_pressure(texts, look.best) for look in place]
    if not any(more):
        return place
    return [
        replace(look, markings=tuple(replace(one, cost=one.cost + add) for one in look.markings))
        for look, add in zip(place, more, strict=True)
    ]


def _looks(group: Sequence[Marking], number: int, use: Weights) -> list[Look]:
    """The places within one hypothesis: spans that overlap are rivals for the same letters."""
    sizes = [marking for marking in group if marking.notation in SIZES]
    decoys = [m for m in group if m.notation not in SIZES and m.cost < 1]
    paid = sorted((with_doubt(m, decoys, use) for m in sizes), key=lambda m: m.cost)
    spots: list[list[Marking]] = []
    for marking in paid:
        home = next((s for s in spots if overlap(s[0].span, marking.span)), None)
        if home is not None:
            home.append(marking)
        elif marking.cost <= TOO_COSTLY:
            spots.append([marking])
    return [_look(spot, number) for spot in spots]


def _look(spot: Sequence[Marking], number: int) -> Look:
    best = spot[0]
    hypothesis = best.hypothesis
    engine = "" if hypothesis is None else hypothesis.engine
    if hypothesis is None or hypothesis.strip is None:
        return Look(engine, tuple(spot), number)
    region = hypothesis.strip.region
    whole = _along(region.centreline, np.linspace(0.0, 1.0, SAMPLES))
    track = Track(stretch(hypothesis, best.span), whole, region.height)
    return Look(engine, tuple(spot), number, region.photo.name, track)


def stretch(hypothesis: Hypothesis, span: tuple[int, int]) -> Points:
    """Where letters of a line stand in the photo: SAMPLES x 2 points from the first to the last.

    Raises:
        ValueError: the line was read without a photo.
    """
    shares = np.linspace(*extent(hypothesis, span), SAMPLES)
    return _along(_region(hypothesis).centreline, shares)


def covered(seen: Hypothesis, span: tuple[int, int], other: Hypothesis) -> int:
    """How many letters of another line of the photo stand where a span of this one does.

    Raises:
        ValueError: a line was read without a photo.
    """
    low, high = sorted((_region(seen).height, _region(other).height))
    if high > LIKE_HEIGHT * low:
        return 0
    line = stretch(seen, span)
    return int(_close(line, letters(other), NEAR * high, _step(line)).any(axis=0).sum())


def letters(hypothesis: Hypothesis) -> Points:
    """Where each letter of a line begins in the photo, spaces left out: N x 2 points.

    Raises:
        ValueError: the line was read without a photo.
    """
    kept = [k for k, letter in enumerate(hypothesis.text) if letter != " "]
    begins = _begins(hypothesis)
    count = len(hypothesis.text)
    shares = begins if len(begins) == count else np.arange(count) / max(1, count)
    return _along(_region(hypothesis).centreline, shares[kept])


def _region(hypothesis: Hypothesis) -> Region:
    if hypothesis.strip is None:
        raise ValueError("read without a photo")
    return hypothesis.strip.region


def at_the_edge(marking: Marking) -> bool:
    """Whether a marking begins or ends at its photo's edge; False where no photo is known."""
    hypothesis = marking.hypothesis
    if hypothesis is None or hypothesis.strip is None:
        return False
    return _is_near(stretch(hypothesis, marking.span)[[0, -1]], hypothesis.strip.region)


def near_the_edge(region: Region) -> bool:
    """Whether a line comes to its photo's edge anywhere; else no marking on it does."""
    return _is_near(region.centreline, region)


def _is_near(points: NDArray[np.floating], region: Region) -> bool:
    high, wide = region.photo.shape
    air = np.minimum(points, np.array([wide - 1, high - 1]) - points).min()
    return bool(air < AT_THE_EDGE * region.height)


def extent(hypothesis: Hypothesis, span: tuple[int, int]) -> tuple[float, float]:
    """Where the span begins and ends along the strip, as shares of its length."""
    begins, logs = _begins(hypothesis), hypothesis.log_probs
    if logs is not None and span[0] < span[1] <= len(begins):
        return float(begins[span[0]]), float(begins[span[1] - 1] + 1 / len(logs))
    count = max(len(hypothesis.text), span[1], 1)
    return span[0] / count, span[1] / count


def _begins(hypothesis: Hypothesis) -> Points:
    """Where the freest reading's letters begin, as shares of the strip; none without frames."""
    logs = hypothesis.log_probs
    if logs is None or not len(logs):
        return np.zeros(0)
    return starts(logs.argmax(axis=1)) / len(logs)


def _along(centreline: NDArray[np.float32], shares: Points) -> Points:
    """Points at these shares of the line's length."""
    line = centreline.astype(np.float64)
    steps = np.hypot(*np.diff(line, axis=0).T) if len(line) > 1 else np.zeros(0)
    walked = np.r_[0.0, np.cumsum(steps)]
    at = shares * walked[-1]
    return np.column_stack([np.interp(at, walked, line[:, axis]) for axis in (0, 1)])


def _belongs(look: Look, place: Sequence[Look]) -> bool:
    seed = place[0]
    if look.track is None or seed.track is None or look.photo != seed.photo:
        return False
    if any(other.source == look.source for other in place):
        return False
    here, there = look.track, seed.track
    near = NEAR * max(here.height, there.height)
    if _shared(here.line, there.line, near) >= SHARED:
        return True
    # Engines without frames place their letters roughly: the same text in the same line is one.
    same = spelt(look.best) == spelt(seed.best)
    return same and _shared(here.region, there.region, near) >= 0.5  # half of the shorter


def _shared(one: Points, other: Points, near: float) -> float:
    """The larger share of either line that runs beside the other one."""
    close = _close(one, other, near, max(_step(one), _step(other)))
    return float(max(close.any(axis=0).mean(), close.any(axis=1).mean()))


def _step(line: Points) -> float:
    """Half the way between two points along a line: no spot beside it is further off along it."""
    return float(np.hypot(*(line[1] - line[0]))) / 2


def _close(one: Points, other: Points, near: float, step: float) -> NDArray[np.bool_]:
    """Which points of one lie beside which of the other."""
    apart = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1))
    return np.asarray(apart <= np.hypot(near, step))
