"""From a name to the sizes it can mean.

What no table knows is not known: a fraction is looked up as printed, a decimal belongs to the
family of its diameter, and neither stands for the other. Shares follow how many independent tables
give the meaning (`index`); a market moves them by how common the diameter is there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

from reader.markings import BY_NAME
from reader.markings.notation import FrenchAsked, InchAsked, PairAsked, SeatsAsked
from reader.names.index import AT_HOME, AWAY, Group, groups, index, plain
from reader.names.meaning import Meaning
from reader.names.pairs import pair_meanings, tube_meanings
from reader.names.synonyms import other_names
from reader.records import Size
from reader.table_rows import inches
from reader.tables import Tables
from reader.text.units import INCH

__all__ = ["Meaning", "by_nominal", "coded", "meanings", "other_names"]

MARKET_POWER = 0.5  # how much a market's habits bend the shares of a name
MISPRINT_NOMINAL = 0.05
PRINTED = 30.0  # a width that a table prints with one letter only, where the letter is missing


def meanings(
    notation: str, numbers: Mapping[str, float | str], tables: Tables, market: str = "world"
) -> tuple[Meaning, ...]:
    """All sizes that a marking can mean, most likely first.

    Args:
        notation: the notation's name, e.g. 'iso_pair', 'inch_fraction', 'french'.
        numbers: its parts, in its own units (see DEVELOPERS.md).
        tables: the sourced tables.
        market: column of prior.csv that moves the shares; rules nothing out.

    Returns:
        Meanings by falling share; what they lack to 1 is doubt in the tables. Empty for decoys and
        texts that no table knows.

    Raises:
        InputError: the market has no column in prior.csv.

    >>> from reader.tables import load_tables
    >>> numbers = {'diameter_mm': 700, 'width_mm': 28, 'letter': 'C'}
    >>> found = meanings('french', numbers, load_tables())
    >>> [(str(one.size), one.part, one.share) for one in found]
    [('28-622', 'tyre', 0.99)]
    """
    known = BY_NAME.get(notation)
    if known is None or known.asks is None:
        return ()
    asked = known.asks(numbers)
    return _ANSWERS[type(asked)](asked, tables, market)


def by_nominal(diameter: float, tables: Tables, market: str = "world") -> tuple[Meaning, ...]:
    """All bead seat diameters that carry a bare nominal diameter, in inches or French mm.

    >>> from reader.tables import load_tables
    >>> sorted(one.size.bsd for one in by_nominal(27, load_tables()))
    [609, 630]
    """
    tables.prior(0, market)  # an unknown market is an error here as elsewhere
    nominals = (12.0, 12.5) if diameter in (12.0, 12.5) else (diameter,)
    found = {one.bsd: one for name in nominals for one in index(tables).nominal.get(name, ())}
    return _weighed([*found.values()], tables, market, None, common=True)


def coded(
    code: str, tables: Tables, market: str = "world", diameter: str = ""
) -> tuple[Meaning, ...]:
    """What a trade code or a word means: 'E.A.3', '29er', '26 W/O'; `diameter` stands beside it.

    >>> from reader.tables import load_tables
    >>> [one.size.bsd for one in coded('EA3', load_tables())]
    [590]
    """
    rows = index(tables).codes.get(plain(code), ())
    beside = [row for row in rows if diameter in ("", row.diameter)]
    return _weighed(groups(beside, tables, code), tables, market, None) if beside else ()


def _pair(asked: PairAsked, tables: Tables, market: str) -> tuple[Meaning, ...]:
    order = "rim" if asked.marked else "pair"
    return pair_meanings(asked.width, asked.bsd, order, tables, market, asked.edge)


def _seats(asked: SeatsAsked, tables: Tables, market: str) -> tuple[Meaning, ...]:
    return tube_meanings(asked.first, asked.second, tables, market)


def _inch(asked: InchAsked, tables: Tables, market: str) -> tuple[Meaning, ...]:
    known = index(tables)
    diameter, width = asked.diameter, asked.width
    tables.prior(0, market)
    key = asked.table, diameter, asked.height, width
    if asked.height and key not in known.inch:
        key = asked.table, diameter, width, asked.height  # they are printed in both orders
        width = asked.height
    found = known.inch.get(key, ())
    if asked.decimal and not found:
        found = tuple(
            one
            for one in known.decimals.get(diameter, ())
            if not width or one.best.low <= width <= one.best.high
        )
    if asked.code:
        marked = [
            row
            for row in known.codes.get(plain(asked.code), ())
            if inches(row.diameter) == diameter
        ]
        named = {row.bsd for row in marked}
        rows = [row for row in (*known.inch_rows.get(key, ()), *marked) if row.bsd in named]
        found = groups(rows, tables) or found
    return _weighed(found, tables, market, _tyre_mm(asked.decimal, width, tables)) if found else ()


def _french(asked: FrenchAsked, tables: Tables, market: str) -> tuple[Meaning, ...]:
    """Letter and number decide; without a letter how common each diameter is, and then a width."""
    diameter, width, letter = asked.diameter, asked.width, asked.letter
    tables.prior(0, market)
    if not letter and not width:
        return ()  # a bare number is no French size
    known = index(tables).french
    found = known.get((diameter, letter, width)) or known.get((diameter, letter, 0.0), ())
    return _weighed(found, tables, market, width or None, common=not letter)


_ANSWERS: dict[type, Callable[..., tuple[Meaning, ...]]] = {
    PairAsked: _pair, SeatsAsked: _seats, FrenchAsked: _french, InchAsked: _inch,
}  # fmt: skip


@lru_cache(maxsize=1024)
def _tyre_mm(decimal: bool, width: float, tables: Tables) -> float | None:
    if not width:
        return None
    style = "decimal" if decimal else "fraction"
    for row in tables.inch_rows:
        if row.style == style and inches(row.text) == width:
            return row.tyre_mm
    return float(round(width * INCH))


def _weighed(
    found: Sequence[Group],
    tables: Tables,
    market: str,
    width: float | None,
    common: bool = False,
) -> tuple[Meaning, ...]:
    """One meaning a bead seat diameter, by falling share.

    Args:
        width: nominal tyre width in mm, where the rows give none.
        common: weigh by how common the diameter is, as the text names nothing more.
    """
    scores = [_score(one, tables, market, width, common) for one in found]
    whole = sum(scores)
    made = [
        Meaning(
            Size(one.bsd, _width(one, width)),
            "tyre",
            score / whole * one.cap,
            one.why,
            one.source,
            one.rests_on,
            "",
            one.count,
        )
        for one, score in zip(found, scores, strict=True)
    ]
    if len(made) > 1:
        made.sort(key=lambda one: (-one.share, one.size.bsd))
    return tuple(made)


def _score(one: Group, tables: Tables, market: str, width: float | None, common: bool) -> float:
    if common:
        printed = PRINTED if width and one.printed and not one.slip else 1.0
        return tables.prior(one.bsd, market) * (MISPRINT_NOMINAL if one.slip else printed)
    score = one.weight * (AT_HOME / AWAY if market in one.homes else 1.0)
    if market == "world":
        return score
    return score * float(tables.prior(one.bsd, market) / tables.prior(one.bsd)) ** MARKET_POWER


def _width(one: Group, width: float | None) -> float | None:
    listed = one.best.tyre_mm
    if width is None or not listed or width in listed or one.best.notation == "french":
        return width
    return listed[0]
