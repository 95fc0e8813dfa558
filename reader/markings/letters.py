"""What damage to a letter costs.

Costs are natural-log penalties: roughly, how many times less often a maker's mark is seen damaged
in this way than whole. They are tuned by hand (common practice, no source); only their order
matters, as the resolver weighs them against everything else that was read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import TypeVar

from reader.text.confusables import alike

Reading = TypeVar("Reading")

SPACE_ADDED = 1.5  # a space inside a number
SPACE_LOST = 2.5  # two markings run together: 37-59026X1 3/8
SIGN_LOST = 2.5  # a dash, cross, point or slash that is gone
DIGIT_CONFUSED = 4.0  # another digit, of a similar shape: 6 for 8
DIGIT_WRONG = 5.0  # any other digit, or a mark that nobody could read: ?
DIGIT_LOST = 6.0  # nothing where a digit should be
BUDGET = 6.5  # dearer readings are not worth telling

_SIMILAR_DIGITS = "06 08 09 17 14 27 35 38 39 49 56 58 59 68 69 89"

_COST: dict[tuple[str, str], float] = {
    **{(two[0], two[1]): DIGIT_CONFUSED for two in _SIMILAR_DIGITS.split()},
    **{(two[1], two[0]): DIGIT_CONFUSED for two in _SIMILAR_DIGITS.split()},
    **{(seen, sign): cost for sign in "0123456789/" for seen, cost in alike(sign).items()},
}

DIGIT = "[0-9" + re.escape("".join(sorted({c for c, _ in _COST if not c.isdigit()} - {"/"}))) + "?]"
"""Regular expression of one sign that may stand for a digit."""

CROSS = r"\s?[X*]\s?"
"""Regular expression of the sign between the numbers of a size."""


def damage(seen: str, meant: str) -> float:
    """Cost of seeing one text where another of the same length was meant.

    >>> damage("5O7", "507"), damage("567", "507")
    (2.0, 4.0)
    """
    cost = 0.0
    for a, b in zip(seen, meant, strict=True):
        if a != b:
            cost += _COST.get((a, b), DIGIT_WRONG)
    return cost


def meant(seen: str, options: Iterable[str], budget: float = BUDGET) -> dict[str, float]:
    """The options that a damaged text can stand for, with their costs.

    At most one sign may be wrong or lost, others may look alike.

    >>> meant("5O7", ["507", "547", "622"])
    {'507': 2.0, '547': 5.0}
    >>> meant("67", ["507", "607"])
    {'607': 6.0}
    """
    found: dict[str, float] = {}
    for option in options:
        if len(option) == len(seen):
            cost = damage(seen, option)
        elif len(option) == len(seen) + 1:
            cost = DIGIT_LOST + min(
                damage(seen, option[:i] + option[i + 1 :]) for i in range(len(option))
            )
        else:
            continue
        if cost <= budget:
            found[option] = cost
    return found


def pinned(
    # more meanings tell nothing; dearer ones lose anyway
    found: Mapping[Reading, float],
    most: int = 4,
    margin: float = 1.5,
) -> dict[Reading, float]:
    """The best of several possible readings, if few enough; each bears the doubt between them.

    Readings dearer than the best by more than `margin` are left out. With more than `most` left
    the damage says nothing, and the result is empty.

    >>> pinned({"507": 5.0, "547": 5.0, "622": 9.0})
    {'507': 5.69, '547': 5.69}
    """
    if not found:
        return {}
    bound = min(found.values()) + margin
    best = {text: cost for text, cost in found.items() if cost <= bound}
    if len(best) > most:
        return {}
    return {text: round(cost + math.log(len(best)), 2) for text, cost in best.items()}
