"""How strongly each place on the part speaks for each size.

For one look (one engine, one strip) a size's ratio is how much more probable the reading is if the
part has that size than if the letters are something else:

    ratio = 1 + support * exp(worth - further cost)

where support is how well the size explains the reading, `worth` what a reading of that engine at
that cost tells at all (letters that are no size seldom look like one at no cost, soon at some:
STEEP, FLAT), and the further cost that beyond the best reading there. Looks of one engine are
averaged, clear ones counting more: they see the same letters, so that agreeing adds nothing and
disagreeing takes away. Engines are pooled log-linearly with weights below 1, since they err
together. Places multiply; the same text again counts less. (Log-linear pooling: Genest and Zidek,
'Combining probability distributions', Statistical Science 1986.) The numbers are those of
`weights`; calibration corrects what they leave.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from reader.language import N_
from reader.markings import MEASURES, PAIRS
from reader.names.meanings import Meaning, meanings
from reader.records import Marking, PartKind, Size
from reader.resolve.doubts import signs
from reader.resolve.rivals import Look, Place, Spelt, spelt
from reader.resolve.weights import Weights, load_weights
from reader.tables import Tables

Array = NDArray[np.float64]

OTHER_PART = 0.3  # the rim's marking behind a tyre, and the other way round: same diameter
OTHER_PART_OPEN = 0.02  # the same where nobody said which part is meant: rather the part it is on
USUAL_SIGNS = 6  # letters and figures of a name with its width
MOST_SIGNS = 3  # more than usual; what is still longer tells no more
RARE_WIDTH = 0.0005
RARE_SEAT = 1e-4  # no seat is rarer, so that none is ruled out


@dataclass(frozen=True)
class Heading:
    """A size and the part it is said of: what the belief is spread over."""

    size: Size
    part: PartKind


class Weigher:
    """Weighs places against one list of headings.

    `log_prior` (N, natural log, sums to 1 as probability at most) says how common each heading is.
    """

    def __init__(
        self,
        places: Sequence[Place],
        part: PartKind,
        tables: Tables,
        market: str,
        weights: Weights | None = None,
    ) -> None:
        self.weights = load_weights() if weights is None else weights
        self._tables, self._market, self._part = tables, market, part
        self._known: dict[Spelt, tuple[Meaning, ...]] = {}
        self._supports: dict[Spelt, Array] = {}
        self.headings = self._headings(places)
        self._bsd = np.array([h.size.bsd for h in self.headings])
        self._width = np.array([h.size.width or np.nan for h in self.headings])
        self._kind = np.array([h.part for h in self.headings])
        common = np.array([self._commonness(h.size, h.part) for h in self.headings])
        self.log_prior: Array = np.log(common / max(common.sum(), math.exp(self.weights.reserve)))

    def meanings(self, marking: Marking) -> tuple[Meaning, ...]:
        """What the marking can mean, of the part in question if it can mean that part at all."""
        key = spelt(marking)
        if key not in self._known:
            found = meanings(marking.notation, marking.numbers, self._tables, self._market)
            mine = tuple(m for m in found if m.part == self._part)
            self._known[key] = mine or found
        return self._known[key]

    def _headings(self, places: Sequence[Place]) -> list[Heading]:
        found: dict[Heading, None] = {}
        for marking in _all_markings(places):
            for meaning in self.meanings(marking):
                if self._part in ("unknown", meaning.part):
                    found[Heading(meaning.size, meaning.part)] = None
                else:
                    found[Heading(Size(meaning.size.bsd), self._part)] = None
        return list(found)

    def _commonness(self, size: Size, part: PartKind) -> float:
        seat = (
            max(self._tables.prior(size.bsd, self._market), RARE_SEAT) ** self.weights.prior_power
        )
        return float(seat * self._width_share(part, size.width))

    def _width_share(self, part: PartKind, width: float | None) -> float:
        return width_share(self._tables, part, width, self.weights.width_power)

    def how_common(self, bsd: int) -> str:
        """How often a bead seat diameter is met in the market, in words."""
        share = self._tables.prior(bsd, self._market)
        if share < 0.005:  # else it would be told as 0 of 100
            return N_(f"{bsd} mm is met on fewer than 1 of 200 parts")
        return N_(f"{bsd} mm is met on about {share * 100:.0f} of 100 parts")

    def support(self, marking: Marking) -> Array:
        """How well each heading explains the marking (N, 0..1), its cost left out."""
        key = spelt(marking)
        if key not in self._supports:
            self._supports[key] = self._support(marking)
        return self._supports[key]

    def _support(self, marking: Marking) -> Array:
        out = np.zeros(len(self.headings))
        found = self.meanings(marking)
        # A share has the market in it already, and the prior comes once for all places.
        odds = [meaning.share / self._commonness(meaning.size, meaning.part) for meaning in found]
        parts = {meaning.part for meaning in found}
        pair = marking.notation in PAIRS
        for meaning, value in zip(found, odds, strict=True):
            same = self._bsd == meaning.size.bsd
            fit = np.where(
                self._kind == meaning.part,
                self._width_fit(meaning.size.width, pair),
                np.where(np.isin(self._kind, list(parts)), 0.0, self._elsewhere(meaning, pair)),
            )
            out = np.maximum(out, same * fit * value / max(odds))
        return out

    def _elsewhere(self, meaning: Meaning, pair: bool) -> float:
        """How well a part explains the diameter that another kind of part beside it tells."""
        if self._part != "unknown" or not pair:
            return OTHER_PART
        return OTHER_PART_OPEN * self._width_share(meaning.part, meaning.size.width)

    def names(self, marking: Marking, heading: Heading) -> bool:
        """Whether the marking names this size: the diameter, and the width as far as it tells."""
        # mm: whole millimetres
        slack = 0.5 if marking.notation in PAIRS else self.weights.width_scale
        widths = [m.size.width for m in self.meanings(marking) if m.size.bsd == heading.size.bsd]
        mine = heading.size.width
        return any(w is None or mine is None or abs(w - mine) <= slack for w in widths)

    def _width_fit(self, width: float | None, exact: bool) -> Array:
        if width is None:
            return np.ones(len(self.headings))
        apart = np.abs(self._width - width)
        if exact:  # where the heading leaves the width open, it stands for all that were not read
            return np.where(apart < 0.5, 1.0, math.exp(self.weights.other_width))
        least = math.exp(self.weights.name_width)
        fit = np.maximum(np.exp(-np.maximum(apart - 1, 0) / self.weights.width_scale), least)
        return np.where(np.isnan(apart), least, fit)

    def weigh(self, places: Sequence[Place]) -> Array:
        """Log-ratio of every place for every heading (P x N), repetition already discounted."""
        table = np.array([self._place(place) for place in places]).reshape(len(places), -1)
        return _names_held(places, table, self.weights) * self.discounts(places)[:, None]

    def discounts(self, places: Sequence[Place]) -> Array:
        """Weight of each place (P): 1 for a text read for the first time."""
        seen: dict[Spelt, set[str]] = {}
        out = np.ones(len(places))
        for i, place in enumerate(places):
            photos = seen.setdefault(spelt(place.best), set())
            if photos:
                again = self.weights.again_same_photo, self.weights.again_other_photo
                out[i] = again[0] if place.photo in photos else again[1]
            photos.add(place.photo)
        return out

    def _place(self, place: Place) -> Array:
        by_engine: dict[str, list[Look]] = {}
        for look in place.looks:
            by_engine.setdefault(look.engine, []).append(look)
        weights, logs = [], []
        for looks in by_engine.values():
            clear = np.array([math.exp(-look.best.cost) for look in looks])
            ratios = np.array([self._ratio(look) for look in looks])
            logs.append(np.log(clear @ ratios / clear.sum()))
            weights.append(clear.max())
        return pool(np.array(weights), np.array(logs), self.weights.second_engine)

    def _ratio(self, look: Look) -> Array:
        best = look.best.cost
        use = self.weights
        worth = use.trust(look.engine)
        worth -= use.steep * min(best, use.knee) + use.flat * max(best - use.knee, 0.0)
        out = np.zeros(len(self.headings))
        for marking in look.markings:
            log = worth - (marking.cost - best) + use.chance(marking.notation)
            if marking.notation not in MEASURES:
                log += use.short * min(len(signs(marking.text)) - USUAL_SIGNS, MOST_SIGNS)
            if log > -4:  # less adds nothing that shows
                out = np.maximum(out, self.support(marking) * math.exp(log))
        return 1 + out


def _names_held(places: Sequence[Place], table: Array, use: Weights) -> Array:
    """Log-ratios (P x N) with names held back where they speak against a pair that was read.

    Inch and French names measure nothing: makers print odd ones, and no list has them all. So a
    name, however clear, speaks against a size that a pair names by so much at most.
    """
    is_pair = np.array([place.best.notation in MEASURES for place in places], bool)
    backed = (table[is_pair] >= use.backed).any(axis=0)
    least = table.max(axis=1, keepdims=True, initial=0.0) - use.name_apart
    return np.where(~is_pair[:, None] & backed, np.maximum(table, least), table)


@lru_cache(maxsize=4096)
def width_share(tables: Tables, part: PartKind, width: float | None, power: float) -> float:
    """Share of a width (mm) among all of its part, evened out; 1 where the width is left open."""
    if width is None:
        return 1.0
    known = tables.width_weight
    total = sum(w**power for (kind, _), w in known.items() if kind == part)
    return float(max(known.get((part, width), 0.0), RARE_WIDTH) ** power / max(total, 1e-9))


def pool(clarity: Array, logs: Array, second: float) -> Array:
    """Pool E engines (clarity E, log-ratios E x N): one alone counts fully, a second adds a part.

    >>> pool(np.array([1.0, 1.0]), np.array([[5.0, 0.0], [5.0, 0.0]]), 0.4).round(3).tolist()
    [7.0, 0.0]
    """
    weights = clarity / clarity.max()
    count = weights.sum() ** 2 / (weights**2).sum()  # engines that count, a share of one included
    factor = (1 + second * (count - 1)) / count
    return factor * weights @ logs


def _all_markings(places: Iterable[Place]) -> Iterable[Marking]:
    return (marking for place in places for look in place.looks for marking in look.markings)
