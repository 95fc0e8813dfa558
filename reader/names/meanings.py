"""From a name to the sizes it can mean, and back.

A share is the belief that the text means that size, given the market's prior and nothing else: the
prior is already in it. Inch and French texts never give a share of 1 to a fraction, because makers
have printed fractions where the decimal was meant (source SB).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from reader.names.meaning import Meaning
from reader.names.pairs import pair_meanings, tube_meanings
from reader.names.synonyms import other_names
from reader.records import Size
from reader.table_rows import Name, inches
from reader.tables import Tables

__all__ = ["Meaning", "by_nominal", "meanings", "other_names"]

HOME_FACTOR = 3.0  # how much more a meaning counts in the market where it rules
SHARE_FLOOR = 0.01  # no meaning that a table lists is ruled out by a prior
SWAP_SHARE = 0.02  # a fraction printed where the decimal was meant, or the other way


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
        Meanings by falling share, summing to 1; empty for decoys and texts that no table knows.

    Raises:
        InputError: the market has no column in prior.csv.

    >>> from reader.tables import load_tables
    >>> numbers = {'diameter_mm': 700, 'width_mm': 28, 'letter': 'C'}
    >>> found = meanings('french', numbers, load_tables())
    >>> [(str(one.size), one.part, one.share) for one in found]
    [('28-622', 'tyre', 1.0)]
    """
    get = numbers.get
    if notation == "iso_pair":
        return pair_meanings(
            float(get("width_mm", 0)), int(get("bsd_mm", 0)), "pair", tables, market
        )
    if notation == "rim":
        kind = str(get("kind", ""))
        order = "pair" if get("order") == "width" and not kind else "rim"
        return pair_meanings(
            float(get("width_mm", 0)), int(get("bsd_mm", 0)), order, tables, market, kind
        )
    if notation == "inch_decimal" or notation == "inch_fraction":
        diameter, width = float(get("diameter_in", 0)), float(get("width_in", 0))
        whole = width == int(width) and "." not in str(get("width_text", ""))
        style = "inch_whole" if whole else notation
        return _inch(style, diameter, width, str(get("code", "")), tables, market)
    if notation == "inch_three":
        height, width = float(get("height_in", 0)), float(get("width_in", 0))
        return _three(float(get("diameter_in", 0)), height, width, tables, market)
    if notation == "french":
        letter = str(get("letter", "")).upper()
        return _french(
            float(get("diameter_mm", 0)), float(get("width_mm", 0)), letter, tables, market
        )
    if notation == "tube":
        return tube_meanings(int(get("bsd_mm", 0)), int(get("bsd2_mm", 0)), tables, market)
    return ()


def by_nominal(diameter: float, tables: Tables, market: str = "world") -> tuple[Meaning, ...]:
    """All bead seat diameters that carry a bare nominal diameter, in inches or French mm.

    >>> from reader.tables import load_tables
    >>> sorted(one.size.bsd for one in by_nominal(27, load_tables()))
    [609, 630]
    """
    nominals = {12.0, 12.5} if diameter in (12.0, 12.5) else {diameter}
    index = _index(tables)
    rows = [ready.row for key, group in index.items() if key[1] in nominals for ready in group]
    by_trust = sorted(rows, key=lambda row: (row.basis == "read", row.weight))
    once = {row.bsd: row for row in by_trust}  # the last, so the most trusted, row stays
    found = _shares([_Option(row, None, 1.0) for row in once.values()], tables, market)
    return tuple(
        replace(one, why=f"a wheel called {diameter:g} can be {one.size.bsd}") for one in found
    )


@dataclass(frozen=True)
class _Ready:
    """A name row with its printed texts turned into numbers, for quick matching."""

    row: Name
    widths: frozenset[float]
    height: float
    code: str

    def takes(self, width: float) -> bool:
        if self.widths:
            return width in self.widths
        return not width or self.row.low <= width <= self.row.high


@dataclass(frozen=True)
class _Option:
    row: Name
    width: float | None
    factor: float


@lru_cache(maxsize=8)
def _index(tables: Tables) -> dict[tuple[str, float], list[_Ready]]:
    index: dict[tuple[str, float], list[_Ready]] = {}
    for row in tables.names:
        widths = frozenset(inches(text) for text in row.widths)
        ready = _Ready(row, widths, inches(row.height), _plain(row.mark))
        index.setdefault((row.notation, inches(row.diameter)), []).append(ready)
    return index


def _plain(code: str) -> str:
    return "".join(letter for letter in code.upper() if letter.isalnum())


@lru_cache(maxsize=65536)
def _inch(
    style: str, diameter: float, width: float, code: str, tables: Tables, market: str
) -> tuple[Meaning, ...]:
    index = _index(tables)
    decimal = [one for one in index.get(("inch_decimal", diameter), ()) if one.takes(width)]
    fraction = [one for one in index.get(("inch_fraction", diameter), ()) if one.takes(width)]
    coded = [one for one in fraction if code and one.code == _plain(code)]
    if coded:
        return _shares(_options(coded, width, tables, 1.0), tables, market)
    if style == "inch_whole" and fraction:
        both = _options(fraction, width, tables, 1.0) + _options(decimal, width, tables, 0.005)
        return _shares(both, tables, market)
    first, second = (decimal, fraction) if style == "inch_decimal" else (fraction, decimal)
    if not first:
        first, second = second, []
    return _shares(
        _options(first, width, tables, 1.0), tables, market, _options(second, width, tables, 1.0)
    )


def _options(found: list[_Ready], width: float, tables: Tables, factor: float) -> list[_Option]:
    return [_Option(one.row, _tyre_mm(one.row.notation, width, tables), factor) for one in found]


@lru_cache(maxsize=1024)
def _tyre_mm(notation: str, width: float, tables: Tables) -> float | None:
    if not width:
        return None
    style = "decimal" if notation == "inch_decimal" else "fraction"
    for row in tables.inch_rows:
        if row.style == style and inches(row.text) == width:
            return row.tyre_mm
    return float(round(width * 25.4))


@lru_cache(maxsize=4096)
def _three(
    diameter: float, height: float, width: float, tables: Tables, market: str
) -> tuple[Meaning, ...]:
    rows = _index(tables).get(("inch_three", diameter), [])
    found = [one for one in rows if one.height == height and one.takes(width)]
    if not found:  # one German page (GER) gives the two in the other order
        found = [one for one in rows if one.height == width and one.takes(height)]
        width = height
    return _shares(_options(found, width, tables, 1.0), tables, market)


@lru_cache(maxsize=8192)
def _french(
    diameter: float, width: float, letter: str, tables: Tables, market: str
) -> tuple[Meaning, ...]:
    rows = _index(tables).get(("french", diameter), [])
    found = [
        one.row
        for one in rows
        if (not letter or letter == one.row.mark)
        and (one.takes(width) if width or one.row.mark else False)
    ]
    return _shares([_Option(row, width or None, 1.0) for row in found], tables, market)


def _shares(
    options: list[_Option], tables: Tables, market: str, swapped: list[_Option] | None = None
) -> tuple[Meaning, ...]:
    """Merge rows per bead seat diameter and turn weight x prior into shares that sum to 1."""
    by_bsd: dict[int, list[tuple[float, _Option]]] = {}
    for option in options:
        row = option.row
        home = HOME_FACTOR if row.home == market else 1.0
        score = row.weight * option.factor * home * tables.prior(row.bsd, market)
        by_bsd.setdefault(row.bsd, []).append((score, option))
    totals = {bsd: sum(score for score, _ in group) for bsd, group in by_bsd.items()}
    whole = sum(totals.values())
    shares = {bsd: max(total / whole, SHARE_FLOOR) for bsd, total in totals.items()}
    made = []
    for bsd, group in by_bsd.items():
        best = max(group, key=lambda pair: pair[0])[1]
        memory = all(option.row.from_memory for _, option in group)
        made.append((shares[bsd], best, memory, _why(best.row)))
    for option in swapped or []:
        if option.row.bsd not in by_bsd:
            by_bsd[option.row.bsd] = []
            made.append((SWAP_SHARE, option, option.row.from_memory, _why_swapped(option.row)))
    scale = sum(share for share, *_ in made)
    answer = [
        Meaning(
            Size(option.row.bsd, option.width),
            "tyre",
            share / scale,
            why,
            option.row.source,
            memory,
        )
        for share, option, memory, why in made
    ]
    return tuple(sorted(answer, key=lambda one: -one.share))


_KINDS = {
    "inch_decimal": "decimal width, so the decimal family of {0} inch",
    "inch_fraction": "{0} inch with exactly this fraction",
    "inch_three": "outer diameter x height x width in inches",
    "french": "French {0}{1}: number and letter decide",
}


def _why(row: Name) -> str:
    text = _KINDS[row.notation].format(row.diameter, row.mark) + f" is {row.bsd}"
    code = f" (marked {row.mark})" if row.mark and row.notation == "inch_fraction" else ""
    return text + code + (f"; {row.note}" if row.note else "")


def _why_swapped(row: Name) -> str:
    if row.notation == "inch_decimal":
        return f"some makers printed a fraction where the decimal was meant: then {row.bsd}"
    return f"a decimal written where the fraction was meant would be {row.bsd}"
