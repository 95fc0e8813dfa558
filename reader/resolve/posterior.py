"""The posterior over sizes, and its parts by name: every belief is a sum that can be read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from reader.language import N_
from reader.markings import BY_NAME, MEASURES, NOTATIONS, PAIRS
from reader.records import Evidence, Marking, PartKind, Size
from reader.resolve.facts import trust
from reader.resolve.likelihood import Heading, Weigher
from reader.resolve.rivals import Place

Array = NDArray[np.float64]

TEXT_TRUST = 0.6  # from which another text says what kind of part it is
BESIDE = {
    "tyre": N_("threads, load or pressure"),
    "rim": N_("spoke holes, brake, edge or the like"),
}
CLEAR_COST = 1.0  # a reading that assumes more damage may be of letters that are no size
STRONG = 3.0  # log-ratio from which a place counts as saying something definite
SHOWN = 0.05  # smaller weights are summed up in one line
LISTED = 0.015  # share from which another meaning of a name is told


@dataclass(frozen=True, eq=False)
class Belief:
    """What P places say of N headings.

    `table` (P x N) and `beside` (N) are natural-log ratios, `logs` (N) the sums with the prior;
    `probability` (N) with `nothing`, the belief that no size was read at all, sums to 1.
    """

    places: tuple[Place, ...]
    weigher: Weigher
    table: Array
    beside: Array
    logs: Array
    probability: Array
    nothing: float

    @property
    def headings(self) -> list[Heading]:
        """What the belief is spread over."""
        return self.weigher.headings

    def by_size(self) -> list[tuple[Size, float]]:
        """Sizes by falling probability, all kinds of part taken together."""
        sums: dict[Size, float] = {}
        for heading, share in zip(self.headings, self.probability, strict=True):
            sums[heading.size] = sums.get(heading.size, 0.0) + float(share)
        return sorted(sums.items(), key=lambda item: -item[1])

    def by_seat(self) -> list[tuple[int, float]]:
        """Bead seat diameters in mm by falling probability, all widths and parts together."""
        sums: dict[int, float] = {}
        for heading, share in zip(self.headings, self.probability, strict=True):
            sums[heading.size.bsd] = sums.get(heading.size.bsd, 0.0) + float(share)
        return sorted(sums.items(), key=lambda item: -item[1])

    def by_width(self) -> list[tuple[float, float]]:
        """Widths in mm by falling probability, all diameters and parts together."""
        sums: dict[float, float] = {}
        for heading, share in zip(self.headings, self.probability, strict=True):
            if heading.size.width is not None:
                sums[heading.size.width] = sums.get(heading.size.width, 0.0) + float(share)
        return sorted(sums.items(), key=lambda item: -item[1])

    def best(self) -> tuple[Size, float]:
        """The most probable size at the most probable diameter, and the belief in it."""
        bsd = self.by_seat()[0][0]
        return next(item for item in self.by_size() if item[0].bsd == bsd)

    def by_part(self) -> dict[PartKind, float]:
        """Shares of the kinds of part, given that something was read."""
        sums: dict[PartKind, float] = {}
        for heading, share in zip(self.headings, self.probability, strict=True):
            sums[heading.part] = sums.get(heading.part, 0.0) + float(share)
        total = sum(sums.values())
        return {part: share / total for part, share in sums.items()}


def believe(places: Sequence[Place], weigher: Weigher, markings: Sequence[Marking]) -> Belief:
    """Add up what all places say."""
    table = weigher.weigh(places)
    text = _texts_beside(markings)
    beside = np.array([text.get(heading.part, 0.0) for heading in weigher.headings])
    logs = weigher.log_prior + weigher.weights.any_size + table.sum(axis=0) + beside
    total = np.logaddexp(0.0, np.logaddexp.reduce(logs))
    nothing = float(np.exp(-total))
    return Belief(tuple(places), weigher, table, beside, logs, np.exp(logs - total), nothing)


def _texts_beside(markings: Sequence[Marking]) -> dict[PartKind, float]:
    """What other texts say of the kind of part: threads stand on tyres, spoke holes on rims."""
    read = {m.notation for m in markings if m.cost < CLEAR_COST and trust(m) >= TEXT_TRUST}
    kinds = [one for one in NOTATIONS if one.name in read]
    return {"tyre": sum(k.tyre_text for k in kinds), "rim": sum(k.rim_text for k in kinds)}


def itemise(belief: Belief, index: int) -> tuple[Evidence, ...]:
    """The reasons for one heading; their weights sum to its log-odds."""
    items, rest = [], 0.0
    for place, weight in zip(belief.places, belief.table[:, index], strict=True):
        if weight < SHOWN:
            rest += float(weight)
        else:
            items.append(_evidence(belief, place, index, float(weight)))
    items.sort(key=lambda item: -item.weight)
    common = float(belief.weigher.log_prior[index] + belief.weigher.weights.any_size)
    bsd = belief.headings[index].size.bsd
    items.append(Evidence(N_("how common the size is"), belief.weigher.how_common(bsd), common))
    if belief.beside[index]:
        beside = float(belief.beside[index])
        items.append(
            Evidence(
                N_("other text beside it"), BESIDE.get(belief.headings[index].part, ""), beside
            )
        )
    if rest >= SHOWN:
        items.append(Evidence(N_("faint traces"), N_("readings too damaged to count alone"), rest))
        rest = 0.0
    others = np.logaddexp.reduce(np.r_[0.0, np.delete(belief.logs, index)])
    items.append(Evidence(N_("other readings"), N_("what else it could be"), rest - float(others)))
    return tuple(items)


def _evidence(belief: Belief, place: Place, index: int, weight: float) -> Evidence:
    # Of all rival readings here, the one that says most for this heading.
    marking = max(
        (marking for look in place.looks for marking in look.markings),
        key=lambda m: float(belief.weigher.support(m)[index] * np.exp(-m.cost)),
    )
    name = BY_NAME[marking.notation].label
    heading = belief.headings[index]
    found = belief.weigher.meanings(marking)
    bsds = list(dict.fromkeys(m.size.bsd for m in found if m.share >= LISTED))
    why = next((m.why for m in found if m.size.bsd == heading.size.bsd), "")
    if heading.part not in {m.part for m in found}:
        name = N_(f"{name} of another part, same diameter")
    elif marking.notation in PAIRS:
        if not belief.weigher.names(marking, heading):
            name = N_(f"{name}: same diameter, another width")
    elif len(bsds) > 1:
        name = N_(f"{name} alone: could be {' or '.join(map(str, bsds))}")
    else:
        name = N_(f"{name} agrees")
    times = f" ({N_(f'{len(place.looks)} looks')})" if len(place.looks) > 1 else ""
    engines = ", ".join(sorted({look.engine for look in place.looks if look.engine}))
    detail = f"'{marking.text}'{times}: {why}"
    return Evidence(name, detail, weight, place.photo, engines)


def contradictions(belief: Belief) -> tuple[str, ...]:
    """Clear readings at two places, one for the best size, one strongly for another."""
    found = set()
    for pair in product(*_sides(belief)):
        one, other = (belief.places[i] for i in sorted(pair))
        if _disagree(belief.weigher, one, other):
            found.add(N_(f"'{one.best.text}' and '{other.best.text}' do not name the same size"))
    return tuple(sorted(found))


def names_differ(belief: Belief) -> bool:
    """Whether all that speaks clearly against the best size are inch and French names."""
    against = {belief.places[i].best.notation for i in _sides(belief)[1]}
    return bool(against) and MEASURES.isdisjoint(against)


def _sides(belief: Belief) -> tuple[list[int], list[int]]:
    """Places of clear readings: those for the best size, and those strongly for another."""
    index = int(np.argmax(belief.probability))
    sides: tuple[list[int], list[int]] = ([], [])
    for i, (place, row) in enumerate(zip(belief.places, belief.table, strict=True)):
        if place.best.cost <= CLEAR_COST and row.max() >= STRONG:
            sides[int(row.max() - row[index] >= STRONG)].append(i)
    return sides


def _disagree(weigher: Weigher, one: Place, other: Place) -> bool:
    first, second = weigher.meanings(one.best), weigher.meanings(other.best)
    if not {m.size.bsd for m in first} & {m.size.bsd for m in second}:
        return True
    # The width may differ between a tyre and the rim it sits on, or as inch names round it.
    pairs = {one.best.notation, other.best.notation} <= PAIRS
    same_part = len({m.part for m in (*first, *second)}) == 1
    return pairs and same_part and not {m.size for m in first} & {m.size for m in second}
