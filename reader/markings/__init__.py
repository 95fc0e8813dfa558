"""Markings: from a line of text, or from letter evidence, to what a maker may have moulded there.

One notation a file. Each has `find(text)`, which yields a `Marking` for every place where the text
can be read so, clean or damaged; sizes also have `spellings()`, all texts that the automaton shall
score against letter probabilities. `Marking.cost` is 0 for a clean match and grows with the damage
assumed (see `letters`). Readings that overlap are all kept: '25-622' is a tyre and a rim. Which
size a name means, and which reading to believe, is decided elsewhere.

What is no size (pressure, threads, load, approval, date) is looked for first, and numbers inside
it never become a size; nor do phone and article numbers or tyres of motor vehicles.
"""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

from reader.markings import (
    approval,
    date,
    french,
    inch_decimal,
    inch_fraction,
    inch_three,
    iso_pair,
    load,
    pressure,
    rim,
    threads,
    tube,
)
from reader.markings.scan import scan
from reader.records import Hypothesis, Marking

SIZES: tuple[ModuleType, ...] = (
    iso_pair,
    rim,
    inch_decimal,
    inch_fraction,
    inch_three,
    french,
)
OTHERS: tuple[ModuleType, ...] = (approval, date, pressure, threads, load)
NOTATIONS: tuple[ModuleType, ...] = (*SIZES, tube, *OTHERS)
"""All notations, in the order of trust."""

# A range on a tube holds texts that would pass for a tyre's size, so it is looked for first.
_FIRST = tuple(notation.clean for notation in (*OTHERS, tube))
_CLEAN = tuple(notation.clean for notation in SIZES)
_DAMAGED = tuple(notation.damaged for notation in (tube, *SIZES))


def parse_text(text: str) -> tuple[Marking, ...]:
    """All markings of a typed or printed text, by place; none if there is nothing to find.

    >>> [(m.notation, m.text) for m in parse_text("25-622")]
    [('iso_pair', '25-622'), ('rim', '25-622')]
    >>> [(m.notation, m.text) for m in parse_text("28-622700X28C MAX 65 PSI")]
    [('iso_pair', '28-622'), ('rim', '28-622'), ('french', '700x28C'), ('pressure', '65 PSI')]
    """
    return scan(text, _FIRST, _CLEAN, _DAMAGED)


def find_all(hypothesis: Hypothesis) -> tuple[Marking, ...]:
    """All markings of what an engine saw in a strip; each keeps the hypothesis."""
    return tuple(replace(found, hypothesis=hypothesis) for found in parse_text(hypothesis.text))
