"""What may have been meant by a typed text that means nothing: offered, never taken."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from functools import lru_cache

from reader.errors import InputError
from reader.language import N_
from reader.markings import parse_text
from reader.names.index import index
from reader.names.meanings import meanings
from reader.names.synonyms import printed
from reader.records import Marking
from reader.table_rows import inches
from reader.tables import Tables
from reader.text.normalise import fold

EXAMPLES = N_("write it as marked, for example 37-590, 26 x 1 3/8, 26 x 1.75, 700x28C or 622x19C")
MOST = 3
NEAR = 0.13  # inches
CLOSE = 0.8  # likeness of two texts from which one is offered for the other
_NAMED = ("inch_decimal", "inch_fraction")
_INCHES = re.compile(
    r"(\d{1,2}(?:\.5| 1/2)?)\s?X\s?(\d[.,]\d{1,3}|(?:\d[ -])?\d{1,2}/\d{1,2}|\d)(?![\d/])"
)
_TIDY = re.compile(r"[^0-9A-Z./]")


class UnknownSize(InputError):
    """A typed text that no table knows.

    Args:
        text: as typed.
        suggestions: sizes that may have been meant, likeliest first.
    """

    def __init__(self, text: str, suggestions: tuple[str, ...]) -> None:
        remedy = N_(f"did you mean {' or '.join(suggestions)}?") if suggestions else EXAMPLES
        super().__init__(f"'{text[:60]}' is no size that a table knows", remedy)
        self.suggestions = suggestions


def suggestions(text: str, tables: Tables) -> tuple[str, ...]:
    """Sizes that the text may be a slip for: letters taken for digits first, then texts alike.

    >>> from reader.tables import load_tables
    >>> suggestions("4T-5O7", load_tables())
    ('47-507',)
    """
    found = sorted((one for one in parse_text(text) if one.cost > 0), key=lambda one: one.cost)
    mended = [one.text for one in found if meanings(one.notation, one.numbers, tables)]
    twins = _near_widths(text, tables)
    near = difflib.get_close_matches(_tidy(text), _spelt(tables), MOST, CLOSE) if text else []
    return _first((*twins, *mended, *(_spelt(tables)[one] for one in near)))


def twin(marking: Marking, tables: Tables) -> tuple[str, ...]:
    """What a size reads like in the other way of writing: 26 x 1.5 for 26 x 1 1/2; () if nothing.

    The same value in inches is another bead seat, and people write one for the other.

    >>> from reader.markings import whole_marking
    >>> from reader.tables import load_tables
    >>> twin(whole_marking("26 x 1 1/2"), load_tables())
    ('26 x 1.50',)
    """
    if marking.notation not in _NAMED:
        return ()
    known = index(tables)
    diameter, width = float(marking.numbers["diameter_in"]), float(marking.numbers["width_in"])
    if marking.notation == "inch_decimal":
        groups = known.inch.get(("inch_fraction", diameter, 0.0, width), ())
        return tuple(one.best.text for one in groups if not one.best.doubt)[:1]
    groups = known.decimals.get(diameter, ())
    families = [one.best for one in groups if one.best.low <= width <= one.best.high]
    return tuple(f"{row.diameter} x {width:.{2 + (width * 100 % 1 > 0)}f}" for row in families)[:1]


def near_diameters(bsd: int, tables: Tables) -> InputError:
    """The error for a bead seat diameter in mm that no table knows, with those that lie near."""
    near = sorted(tables.bsds, key=lambda one: (abs(one - bsd), one))[:3]
    listed = ", ".join(str(one) for one in sorted(near))
    return InputError(
        f"no table knows bead seat diameter {bsd} mm",
        f"read the three figures again; near it exist {listed}, and none of them is a stand-in",
    )


def _near_widths(text: str, tables: Tables) -> list[str]:
    """Names of the same diameter in inches whose width lies nearest, fraction or decimal."""
    match = _INCHES.match(fold(text)[0])
    if not match:
        return []
    diameter, width = inches(match[1]), inches(match[2].replace(",", ".").replace("-", " "))
    found = [
        (abs(inches(row.widths[0]) - width), row.text)
        for row in tables.names
        if row.notation in _NAMED and inches(row.diameter) == diameter and row.widths
    ]
    return [name for apart, name in sorted(set(found)) if apart <= NEAR][:2]


def _first(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))[:MOST]


def _tidy(text: str) -> str:
    return _TIDY.sub("", text.upper().replace(",", "."))


@lru_cache(maxsize=4)
def _spelt(tables: Tables) -> dict[str, str]:
    """Every name by its bare letters and digits, in the order of the table."""
    names: dict[str, str] = {}
    for row in tables.names:
        for name in printed(row):
            names.setdefault(_tidy(name), name)
    return names
