"""From a name to the sizes it can mean.

What no table knows is not known: a fraction is looked up as printed, a decimal belongs to the
family of its diameter, and neither stands for the other. Shares follow how many independent tables
give the meaning (`standing`); a market moves them by how common the diameter is there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from reader.name_rows import Name
from reader.names import standing as rank
from reader.names.meaning import Meaning, Standing
from reader.names.pairs import pair_meanings, tube_meanings
from reader.names.synonyms import other_names
from reader.records import Size
from reader.table_rows import inches
from reader.tables import Tables

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
    get = numbers.get
    if notation in ("iso_pair", "rim"):
        width, bsd, kind = float(get("width_mm", 0)), int(get("bsd_mm", 0)), str(get("kind", ""))
        marked = notation == "rim" and (get("order") != "width" or bool(kind))
        return pair_meanings(width, bsd, "rim" if marked else "pair", tables, market, kind)
    if notation == "tube":
        return tube_meanings(int(get("bsd_mm", 0)), int(get("bsd2_mm", 0)), tables, market)
    if notation == "french":
        return _french(
            int(get("diameter_mm", 0)),
            float(get("width_mm", 0)),
            str(get("letter", "")).upper(),
            tables,
            market,
        )
    if notation in ("inch_decimal", "inch_fraction", "inch_three"):
        return _inch(notation, numbers, tables, market)
    return ()


@dataclass
class _Index:
    """The table of names by what is looked up in it."""

    exact: dict[tuple[str, float, float, float], list[Name]] = field(default_factory=dict)
    decimals: dict[float, list[Name]] = field(default_factory=dict)
    french: dict[int, list[Name]] = field(default_factory=dict)
    codes: dict[str, list[Name]] = field(default_factory=dict)
    nominal: dict[float, list[Name]] = field(default_factory=dict)


@lru_cache(maxsize=8)
def _index(tables: Tables) -> _Index:
    made = _Index()
    for row in tables.names:
        if row.notation in ("code", "word"):
            made.codes.setdefault(plain(row.mark), []).append(row)
            continue
        diameter = inches(row.diameter)
        made.nominal.setdefault(diameter, []).append(row)
        if row.notation == "french":
            made.french.setdefault(int(diameter), []).append(row)
        elif row.widths:
            key = (row.notation, diameter, inches(row.height), inches(row.widths[0]))
            made.exact.setdefault(key, []).append(row)
        elif row.notation == "inch_decimal":
            made.decimals.setdefault(diameter, []).append(row)
    return made


def plain(code: str) -> str:
    """A code or word by its letters, digits and plus signs: 'E.A.3' and 'EA3' are one.

    >>> plain("E.A. 3"), plain("26 W/O"), plain("27.5+")
    ('EA3', '26WO', '275+')
    """
    return "".join(letter for letter in code.upper() if letter.isalnum() or letter == "+")


def by_nominal(diameter: float, tables: Tables, market: str = "world") -> tuple[Meaning, ...]:
    """All bead seat diameters that carry a bare nominal diameter, in inches or French mm.

    >>> from reader.tables import load_tables
    >>> sorted(one.size.bsd for one in by_nominal(27, load_tables()))
    [609, 630]
    """
    nominals = (12.0, 12.5) if diameter in (12.0, 12.5) else (diameter,)
    rows = [row for one in nominals for row in _index(tables).nominal.get(one, ())]
    tables.prior(rows[0].bsd if rows else 622, market)
    found = _weighed(rows, f"a wheel called {diameter:g}", tables, market, common=True)
    return tuple(found)


def coded(
    code: str, tables: Tables, market: str = "world", diameter: str = ""
) -> tuple[Meaning, ...]:
    """What a trade code or a word means: 'E.A.3', '29er', '26 W/O'; `diameter` stands beside it.

    >>> from reader.tables import load_tables
    >>> [one.size.bsd for one in coded('EA3', load_tables())]
    [590]
    """
    rows = _index(tables).codes.get(plain(code), ())
    beside = [row for row in rows if diameter in ("", row.diameter)]
    return _weighed(beside, code, tables, market)


def _inch(
    notation: str, numbers: Mapping[str, float | str], tables: Tables, market: str
) -> tuple[Meaning, ...]:
    index = _index(tables)
    diameter, width = float(numbers.get("diameter_in", 0)), float(numbers.get("width_in", 0))
    height, code = float(numbers.get("height_in", 0)), str(numbers.get("code", ""))
    tables.prior(0, market)  # an unknown market is an error here as elsewhere
    rows = list(index.exact.get((notation, diameter, height, width), ()))
    if notation == "inch_three" and not rows:  # height and width are printed in both orders
        rows = list(index.exact.get((notation, diameter, width, height), ()))
        width = height if rows else width
    if code:
        marked = index.codes.get(plain(code), [])
        named = {row.bsd for row in marked if inches(row.diameter) == diameter}
        rows = [row for row in (*rows, *marked) if row.bsd in named] or rows
    if notation == "inch_decimal":
        rows += [
            row
            for row in index.decimals.get(diameter, ())
            if not width or row.low <= width <= row.high
        ]
    return _weighed(rows, "", tables, market, _tyre_mm(notation, width, tables))


def _french(
    diameter: int, width: float, letter: str, tables: Tables, market: str
) -> tuple[Meaning, ...]:
    """Letter and number decide; a row with a width speaks for that width only.

    Without a letter any may be meant, and how common each diameter is decides.
    """
    tables.prior(0, market)
    rows = [
        row
        for row in _index(tables).french.get(diameter, ())
        if (row.mark == letter or not letter)
        and (not row.widths or (width and float(row.widths[0]) == width))
        and (row.mark or row.widths)
    ]
    if not letter and not any(not row.mark for row in rows) and not width:
        rows = []  # a bare number is no French size
    return _weighed(rows, "", tables, market, width or None, common=not letter)


@lru_cache(maxsize=1024)
def _tyre_mm(notation: str, width: float, tables: Tables) -> float | None:
    if not width:
        return None
    style = "decimal" if notation == "inch_decimal" else "fraction"
    for row in tables.inch_rows:
        if row.style == style and inches(row.text) == width:
            return row.tyre_mm
    return float(round(width * 25.4))


def _weighed(
    rows: Sequence[Name],
    called: str,
    tables: Tables,
    market: str,
    width: float | None = None,
    common: bool = False,
) -> tuple[Meaning, ...]:
    """One meaning a bead seat diameter, by falling share.

    Args:
        called: what the text says, where it is no name of the table by itself.
        width: nominal tyre width in mm, where the row gives none.
        common: weigh by how common the diameter is, as the text names nothing more.
    """
    by_bsd: dict[int, list[Name]] = {}
    for row in rows:
        by_bsd.setdefault(row.bsd, []).append(row)
    exact = any(row.widths and not row.doubt and row.notation == "inch_decimal" for row in rows)
    scored = []
    for bsd, group in by_bsd.items():
        count, rests_on = tables.counted(group), rank.standing(group, tables)
        if common:
            slips = all(row.doubt == "misprint" for row in group)
            score = tables.prior(bsd, market) * (MISPRINT_NOMINAL if slips else 1.0)
            if not called and not slips and any(row.widths for row in group):
                score *= PRINTED
        else:
            score = rank.support(group, count, rests_on, market)
            score *= (tables.prior(bsd, market) / tables.prior(bsd)) ** MARKET_POWER
            if exact and not any(row.widths for row in group):
                score *= rank.FAMILY_BESIDE_EXACT
        scored.append((score, bsd, group, count, rests_on))
    whole = sum(score for score, *_ in scored)
    made = [
        _meaning(group, called, score / whole * rank.cap(count, rests_on), count, rests_on, width)
        for score, _, group, count, rests_on in scored
    ]
    return tuple(sorted(made, key=lambda one: (-one.share, one.size.bsd)))


def _meaning(
    group: list[Name],
    called: str,
    share: float,
    count: int,
    rests_on: Standing,
    width: float | None,
) -> Meaning:
    best = min(group, key=lambda row: (not row.widths, bool(row.doubt)))
    if best.notation != "french" and best.tyre_mm and width not in best.tyre_mm:
        width = best.tyre_mm[0]
    keys = dict.fromkeys(key for row in group for key in row.sources)
    return Meaning(
        Size(best.bsd, None if called else width),
        "tyre",
        share,
        _why(best, called, count, rests_on),
        ", ".join(keys),
        rests_on,
        tables=count,
    )


def _why(row: Name, called: str, count: int, rests_on: Standing) -> str:
    """One sentence: what is meant, who says so, and what to know about it."""
    what = called or row.text
    if row.notation == "inch_decimal" and not row.widths and not called:
        what = f"{row.diameter} inch with a decimal width"
    who = {
        Standing.AGREED: f"in {count} independent tables",
        Standing.SINGLE: "in one table alone",
        Standing.UNVERIFIED: "in a list that nobody could check",
        Standing.MEMORY: "from memory alone",
    }[rests_on]
    notes = [f"in {row.origin}" if row.doubt == "local" and row.origin else "", row.note]
    extra = "; ".join(note for note in notes if note)
    return f"{what} is {row.bsd} {who}" + (f" ({extra})" if extra else "")
