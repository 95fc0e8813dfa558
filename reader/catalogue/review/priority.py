"""How much a look by a person settles: bits of doubt x quantity, for each minute it takes."""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from reader.catalogue.db.records import Share

# Minutes for one look, by what there is to look at: our own estimate, no source.
MINUTES_STRIP = 0.15
MINUTES_PHOTO = 0.4
# Chance that a look settles it: a marking that the machine saw is mostly legible to a person too;
# where it saw none there is often nothing to see. Our own estimate, no source.
SETTLES = {"sure": 0.95, "likely": 0.9, "can't tell": 0.6, "none": 0.25}
NOTHING_KNOWN = 6.0  # bits: about as many sizes as are common, were all alike likely


def doubt(shares: Sequence[Share]) -> float:
    """Entropy of what a part may be, in bits; belief given to no size counts as nothing known.

    >>> doubt([Share("tyre", 622, 28, 0.5), Share("tyre", 622, 25, 0.5)])
    1.0
    >>> doubt([])
    6.0
    """
    rest = max(0.0, 1 - sum(share.probability for share in shares))
    chances = [share.probability for share in shares] + [rest]
    bits = -sum(chance * log2(chance) for chance in chances if chance > 0)
    return bits + rest * NOTHING_KNOWN


def gain(shares: Sequence[Share], verdict: str, quantity: int, strip: bool, skips: int) -> float:
    """Bits x quantity that a minute of a person's time is expected to settle.

    A part that was skipped comes back at half the rank each time.
    """
    minutes = MINUTES_STRIP if strip else MINUTES_PHOTO
    chance = SETTLES.get(verdict, 0.5) * 0.5**skips
    return round(chance * doubt(shares) * quantity / minutes, 6)
