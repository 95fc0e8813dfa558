"""What a width says that stands alone: the width, no diameter, and which photo would tell it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from reader.language import N_
from reader.markings import BY_NAME
from reader.markings.notation import Tells
from reader.records import Judgement, Marking, Reading, Verdict
from reader.resolve.facts import trust
from reader.tables import Tables
from reader.text.units import INCH

LEAST = 0.6  # how far a line must be believed to be told
MOST = 0.9  # a number alone may be something else
NEXT = N_(
    "'%(text)s' is a width and tells no diameter: photograph the rest of the lettering and the "
    "other side, or measure the rim."
)


def with_width(empty: Reading, markings: Sequence[Marking], tables: Tables) -> Reading:
    """The reading that names no size, with a width that stands alone on a tyre.

    It is told where other text says that this is a tyre, as such numbers stand everywhere.
    """
    alone = [m for m in markings if BY_NAME[m.notation].tells is Tells.WIDTH and trust(m) >= LEAST]
    on_tyre = any(BY_NAME[m.notation].tyre_text > 0 and trust(m) >= LEAST for m in markings)
    if not alone or not on_tyre:
        return empty
    best = max(alone, key=trust)
    judged = Judgement(_mm(best, tables), min(trust(best), MOST), Verdict.LIKELY, nominal=True)
    return replace(empty, width=judged, advice=(NEXT % {"text": best.text}, *empty.advice[1:]))


def _mm(marking: Marking, tables: Tables) -> float:
    if "width_mm" in marking.numbers:
        return float(marking.numbers["width_mm"])
    inches = float(marking.numbers["width_in"])
    for row in tables.inch_rows:
        if row.style == "decimal" and float(row.text) == inches:
            return float(row.tyre_mm)
    return float(round(inches * INCH))
