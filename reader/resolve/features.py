"""Signs that the best size of a belief is right: what the calibration looks at."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from reader.markings import PAIRS
from reader.records import KindOfPart, Marking, Size
from reader.resolve.calibration import MOST_MARGIN, SURE_COST, Basis, Features
from reader.resolve.likelihood import Heading, Weigher
from reader.resolve.posterior import Belief, names_differ
from reader.resolve.rivals import Place

USUAL_HEIGHT = 1.0  # log2 of 16-pixel units, where evidence came without a place
NOMINAL = 4.0  # mm by which a tyre's width may differ from the one that its name gives
TYRE_BY_NAME = 0.85  # a name alone stands on tyres mostly, on rims too; common practice, no source
CLEARLY = 2.0  # cost up to which a notation counts as one that agrees


def features(belief: Belief, contradiction: bool, told: bool = True) -> Features:
    """What the calibration looks at, for the most probable size.

    Args:
        belief: with at least one heading.
        contradiction: clear markings differ.
        told: whether the user said what part it is.
    """
    size, share = belief.best()
    sizes = belief.by_size()
    seats = belief.by_seat()
    seat = dict(seats)[size.bsd]
    rest = max((other for bsd, other in seats if bsd != size.bsd), default=0.0)
    index = max(
        (i for i, h in enumerate(belief.headings) if h.size == size),
        key=lambda i: belief.probability[i],
    )
    heading, weigher = belief.headings[index], belief.weigher
    speaking = [i for i in range(len(belief.places)) if belief.table[i, index] > 1]
    looks = [look for place in belief.places for look in place.looks]
    backing = [m for look in looks for m in look.markings if weigher.names(m, heading)]
    kind, first = _kind(weigher, backing, heading)
    slack = NOMINAL if kind == "name" else 0.0
    share = sum(other for one, other in sizes if one == size or _is_near(one, size, slack))
    rival = max((o for s, o in sizes if s != size and not _is_near(s, size, slack)), default=0.0)
    heard = [look for i in speaking for look in belief.places[i].looks]
    agree = sum(weigher.names(look.best, heading) for look in heard)
    home = next(p for p in belief.places if any(first in look.markings for look in p.looks))
    return Features(
        probability=share,
        gap=_odds(share, max(belief.nothing, rival)),
        cost=first.cost,
        places=float(weigher.discounts(belief.places)[speaking].sum()),
        agreement=agree / max(len(heard), 1),
        kind=kind,
        memory=all(_from_memory(weigher, marking, heading) for marking in backing),
        contradiction=contradiction,
        cut=first.cut,
        doubt=first.doubt if all(m.doubt for m in backing if _is_clear_pair(m)) else "",
        names_differ=contradiction and kind == "pair" and names_differ(belief),
        seat=seat,
        seat_gap=_odds(seat, max(belief.nothing, rest)),
        margin=_margin(home, first, lambda m: not weigher.names(m, heading)),
        seat_margin=_margin(
            home, first, lambda m: size.bsd not in {one.size.bsd for one in weigher.meanings(m)}
        ),
        notations=len({m.notation for m in backing if m.cost <= CLEARLY}),
        height=_height(home),
        told=told,
        width=_width_share(belief, size, slack),
        part=1.0 if told else kind_shares(belief, kind)[0][1],
    )


def _is_clear_pair(marking: Marking) -> bool:
    return marking.notation in PAIRS and marking.cost <= SURE_COST


def _width_share(belief: Belief, size: Size, slack: float) -> float:
    """Belief in the size's width, at whatever diameter; none where it is left open."""
    if size.width is None:
        return 0.0
    mine = size.width
    return min(1.0, sum(s for width, s in belief.by_width() if abs(width - mine) <= slack))


def kind_shares(belief: Belief, basis: Basis) -> list[tuple[KindOfPart, float]]:
    """Belief in each kind of part, the most probable first.

    Tables say a name's diameter of tyres; but it may stand on a rim, unless other text tells.
    """
    shares: list[tuple[KindOfPart, float]] = sorted(
        ((kind, share) for kind, share in belief.by_part().items() if kind != "unknown"),
        key=lambda item: -item[1],
    )
    kind, share = shares[0]
    if basis == "name" and kind == "tyre" and not belief.beside.any():
        share = min(share, TYRE_BY_NAME)
        return [("tyre", share), ("rim", 1 - share)]
    return shares


def _is_near(one: Size, size: Size, slack: float) -> bool:
    """Whether a size is the other one as far as a name tells widths."""
    if one.bsd != size.bsd or one.width is None or size.width is None:
        return False
    return abs(one.width - size.width) <= slack


def _odds(share: float, rival: float) -> float:
    return math.log(max(share, 1e-12) / max(rival, 1e-12))


def _kind(weigher: Weigher, backing: Sequence[Marking], heading: Heading) -> tuple[Basis, Marking]:
    """What the answer rests on, and the clearest marking of that kind."""
    pairs = [
        marking
        for marking in backing
        if marking.notation in PAIRS
        and marking.cost <= SURE_COST
        and any(meaning.part == heading.part for meaning in weigher.meanings(marking))
    ]
    if pairs:
        return "pair", min(pairs, key=lambda marking: marking.cost)
    cheapest = min(backing, key=lambda marking: marking.cost)
    return ("tube" if cheapest.notation == "tube" else "name"), cheapest


def _margin(home: Place, first: Marking, other: Callable[[Marking], bool]) -> float:
    """By how much the nearest other reading of the same letters costs more."""
    rivals = [m.cost for look in home.looks for m in look.markings if other(m)]
    return min(min(rivals, default=math.inf) - first.cost, MOST_MARGIN)


def _height(place: Place) -> float:
    """Log2 of the line's height in units of 16 pixels, of its largest look."""
    heights = [look.track.height for look in place.looks if look.track is not None]
    # pixels, as in HEIGHTS
    return math.log2(max(max(heights), 1.0) / 16) if heights else USUAL_HEIGHT


def _from_memory(weigher: Weigher, marking: Marking, heading: Heading) -> bool:
    found = weigher.meanings(marking)
    return all(m.from_memory for m in found if m.size.bsd == heading.size.bsd)
