"""Markings: from a line of text, or from letter evidence, to what a maker may have moulded there.

One notation a file, each one frozen `Notation` record. `Marking.cost` is 0 for a clean match and
grows with the damage assumed (see `letters`). Readings that overlap are all kept: '25-622' is a
tyre and a rim. Which size a name means, and which reading to believe, is decided elsewhere.

What is no size (pressure, threads, load, approval, date) is looked for first, and numbers inside
it never become a size; nor do phone and article numbers or tyres of motor vehicles.
"""

from __future__ import annotations

import re
from dataclasses import replace

from reader.markings import (
    approval,
    brake,
    date,
    direction,
    e_bike,
    edge,
    erd,
    french,
    holes,
    hookless,
    inch_decimal,
    inch_fraction,
    inch_three,
    iso_pair,
    load,
    motor,
    no_bead,
    pressure,
    rim,
    small_wheel,
    threads,
    tube,
    tubeless,
    wear_mark,
    width,
)
from reader.markings.notation import Kind, Notation, Tells
from reader.markings.scan import scan, unexplained
from reader.records import Hypothesis, Marking
from reader.text.normalise import fold

NOTATIONS: tuple[Notation, ...] = (
    iso_pair.NOTATION,
    rim.NOTATION,
    inch_decimal.NOTATION,
    inch_fraction.NOTATION,
    inch_three.NOTATION,
    french.NOTATION,
    tube.NOTATION,
    motor.NOTATION,
    no_bead.NOTATION,
    small_wheel.NOTATION,
    approval.NOTATION,
    date.NOTATION,
    pressure.NOTATION,
    threads.NOTATION,
    load.NOTATION,
    hookless.NOTATION,
    tubeless.NOTATION,
    direction.NOTATION,
    e_bike.NOTATION,
    brake.NOTATION,
    wear_mark.NOTATION,
    erd.NOTATION,
    holes.NOTATION,
    edge.NOTATION,
    width.NOTATION,
)
"""All notations, in the order of trust; the one list that every other derives from."""

BY_NAME = {notation.name: notation for notation in NOTATIONS}
SIZES = frozenset(n.name for n in NOTATIONS if n.is_size)
"""Names of the notations that say which size a part has or takes."""

MEASURES = frozenset(n.name for n in NOTATIONS if n.tells is Tells.PAIR)
"""Notations that tell a bead seat diameter outright, as no name does."""

OTHER_PARTS = frozenset(n.name for n in NOTATIONS if n.kind is Kind.OTHER)
"""Notations of parts that are no bicycle's, or have no bead seat."""

PAIRS = frozenset(n.name for n in NOTATIONS if n.name in MEASURES and n.kind is Kind.SIZE)
"""Notations that tell one diameter and one width in millimetres."""

SCORED = frozenset(n.name for n in NOTATIONS if n.spellings)
"""Notations that the automaton scores against letter probabilities."""

_SIZED = [notation for notation in NOTATIONS if notation.kind is Kind.SIZE]
_INCHES = [notation for notation in _SIZED if notation.name.startswith("inch")]
_LONG_FIRST = [*(notation for notation in _SIZED if notation not in _INCHES), *_INCHES]
_THREE_DIGITS = re.compile(r"\d{3}")
_TUBES = [notation for notation in NOTATIONS if notation.kind is Kind.TUBE]
_OTHERS = [notation for notation in NOTATIONS if not notation.is_size]
# A range on a tube holds texts that would pass for a tyre's size, so it is looked for first.
_FIRST = tuple(notation.clean for notation in (*_OTHERS, *_TUBES))
_CLEAN = tuple(notation.clean for notation in _SIZED)
_DAMAGED = tuple(notation.damaged for notation in (*_TUBES, *_SIZED) if notation.damaged)


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


def whole_marking(text: str) -> Marking | None:
    """The text as one size marking and nothing beside it; None if it is more or less than that.

    >>> whole_marking("26 x 1 3/8").notation, whole_marking("26 x 1 3/8 37-590")
    ('inch_fraction', None)
    """
    line, _ = fold(text)
    end = len(line)
    # only an inch size can do without three digits in a row, and few have them
    for notation in _LONG_FIRST if _THREE_DIGITS.search(line) else _INCHES:
        for found in notation.clean(line):
            if found.cost == 0 and found.span == (0, end):
                return found
    return None


def clean_markings(text: str) -> tuple[tuple[Marking, ...], tuple[str, ...]]:
    """Sizes of a text that are written as makers write them, and numbers that none explains.

    For typed text: nothing is taken for a damaged letter, a lost space or a sign misread. What is
    no size but known (a pressure, an article number) is left out and explained.

    >>> found, rest = clean_markings("37-590 26 x 1 3/8 INFLATE TO 65 PSI 99")
    >>> [one.text for one in found], rest
    (['37-590', '37-590', '26 x 1 3/8'], ('99',))
    """
    found = [one for one in scan(text, _FIRST, _CLEAN) if one.cost == 0]
    sizes = tuple(one for one in found if one.notation in SIZES)
    return sizes, unexplained(text, [one.span for one in found])
