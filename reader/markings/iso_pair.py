"""The ISO 5775 pair on a tyre: nominal width, dash, bead seat diameter, both in mm.

Source of the form: ISO 5775-1 as summarised at en.wikipedia.org/wiki/ISO_5775, with the example
'32-597 inflate to 400 kPa'. The pair may stand before or after other names of the same size
(kosunacycle.com/archives/1133: '37-590 26x1 3/8', '27x1 3/8 37-630').

>>> [(m.text, m.cost) for m in find("32-597 INFLATE TO 400 kPa")]
[('32-597', 0.0)]
>>> [(m.text, m.cost) for m in find("47-50720X1.75")]  # the space was lost
[('47-507', 2.5)]
>>> [(m.text, m.cost) for m in find("47~5O7")]
[('47-507', 4.0)]
>>> list(find("TEL. 030 47-507-11, 205/55 R16, 50-85 PSI"))
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from reader.markings.edges import glue, pair_stands
from reader.markings.known import is_tyre, seats, tables, usual_tyre_widths
from reader.markings.notation import Kind, Notation, Numbers, PairAsked, Tells
from reader.markings.pairs import Part, width_first
from reader.records import Marking

NAME = "iso_pair"
_PAIR = re.compile(r"(1[0-3]\d|[1-9]\d)\s?-\s?(\d{3}|9[34](?!\d))")

_TYRE = Part("-", is_tyre, lambda bsd: tables().tyre_widths_at(bsd), usual_tyre_widths)


def clean(line: str) -> Iterator[Marking]:
    """Undamaged pairs of a folded text; lost spaces beside them cost."""
    for match in _PAIR.finditer(line):
        width, bsd = int(match[1]), int(match[2])
        if is_tyre(width, bsd) and pair_stands(line, *match.span()):
            yield _marking(width, bsd, match.span(), glue(line, *match.span()))


def damaged(line: str) -> Iterator[Marking]:
    """Damaged pairs of a folded text."""
    for pair in width_first(line, _TYRE):
        yield _marking(int(pair.width), pair.bsd, pair.span, pair.cost)


def spellings() -> Iterator[tuple[str, Mapping[str, float | str]]]:
    """Every bead seat diameter with every plausible width: makers mould odd ones, such as 39."""
    for bsd in sorted(seats()):
        for width in range(10, 140):  # mm: all that may be plausible
            if is_tyre(width, bsd):
                yield f"{width}-{bsd}", {"width_mm": width, "bsd_mm": bsd}


def _marking(width: int, bsd: int, span: tuple[int, int], cost: float) -> Marking:
    numbers = {"width_mm": width, "bsd_mm": bsd}
    return Marking(NAME, f"{width}-{bsd}", numbers, span, cost)


def _asks(numbers: Numbers) -> PairAsked:
    return PairAsked(float(numbers["width_mm"]), int(numbers["bsd_mm"]))


NOTATION = Notation(
    name=NAME,
    kind=Kind.SIZE,
    tells=Tells.PAIR,
    label="ISO pair read",
    title="ISO size",
    clean=clean,
    damaged=damaged,
    asks=_asks,
    spellings=spellings,
)
find = NOTATION.find
