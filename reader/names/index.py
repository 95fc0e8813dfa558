"""The table of names, ready for looking up: rows of one text and diameter put together.

A group holds all rows by which one text can mean one diameter, with what they rest on. Copies of
one list count once; what nobody could check, or only memory holds, counts for no table.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from reader.language import N_
from reader.name_rows import Name
from reader.names.meaning import Standing
from reader.table_rows import inches
from reader.tables import Tables

# Greatest share by the number of independent tables; one alone may be a misprint. Judgement.
CAPS = (0.5, 0.9, 0.97, 0.98, 0.99)
UNVERIFIED_CAP = 0.7  # judgement: a list that nobody could check
UNVERIFIED, MEMORY = 0.3, 0.15  # of a table, where no published one says so
UNCHECKED = ("DB", "LIST")
TIE = 0.5  # what a list that nobody could check adds to published ones: it breaks ties
AWAY, AT_HOME = 0.3, 3.0  # a local meaning, elsewhere and in its market
DOUBTS = {"": 1.0, "local": AWAY, "loose": 0.1, "misprint": 0.02}
FAMILY_BESIDE_EXACT = 0.05  # of a family of decimals, where a table gives this very text


@dataclass(frozen=True)
class Group:
    """All rows by which one text can mean one bead seat diameter in mm."""

    bsd: int
    best: Name
    count: int  # independent tables
    rests_on: Standing
    cap: float  # its greatest share
    weight: float  # among the other diameters of the text, away from any home
    homes: frozenset[str]  # markets where a local meaning rules
    slip: bool  # nothing but misprints
    printed: bool  # a row gives this very width
    source: str
    why: str


@dataclass
class Index:
    """Groups by what is looked up."""

    inch: dict[tuple[str, float, float, float], tuple[Group, ...]] = field(default_factory=dict)
    decimals: dict[float, tuple[Group, ...]] = field(default_factory=dict)
    french: dict[tuple[int, str, float], tuple[Group, ...]] = field(default_factory=dict)
    codes: dict[str, tuple[Name, ...]] = field(default_factory=dict)
    nominal: dict[float, tuple[Group, ...]] = field(default_factory=dict)
    inch_rows: dict[tuple[str, float, float, float], list[Name]] = field(default_factory=dict)


@lru_cache(maxsize=8)
def index(tables: Tables) -> Index:
    """The index of one set of tables, built once."""
    made = Index()
    nominal: dict[float, list[Name]] = {}
    codes: dict[str, list[Name]] = {}
    for row in tables.names:
        if row.notation in ("code", "word"):
            codes.setdefault(plain(row.mark), []).append(row)
            continue
        if row.notation != "french" or row.mark:  # 650 x 50 alone does not make 650 mean 559
            nominal.setdefault(inches(row.diameter), []).append(row)
        if row.notation.startswith("inch") and row.widths:
            key = row.notation, inches(row.diameter), inches(row.height), inches(row.widths[0])
            made.inch_rows.setdefault(key, []).append(row)
    made.codes = {code: tuple(rows) for code, rows in codes.items()}
    families = [row for row in tables.names if row.notation == "inch_decimal" and not row.widths]
    for diameter in {inches(row.diameter) for row in families}:
        rows = [row for row in families if inches(row.diameter) == diameter]
        made.decimals[diameter] = groups(rows, tables)
    for key, rows in made.inch_rows.items():
        ranges = [row for row in families if inches(row.diameter) == key[1]]
        if key[0] == "inch_decimal":
            rows = rows + [row for row in ranges if row.low <= key[3] <= row.high]
        made.inch[key] = groups(rows, tables)
    made.nominal = {
        one: groups(rows, tables, N_(f"a wheel called {one:g}")) for one, rows in nominal.items()
    }
    _french(made, tables)
    return made


def _french(made: Index, tables: Tables) -> None:
    """French groups by diameter, letter and width; width 0 holds for every width not listed.

    Letter and number decide; a row with a width speaks for that width only.
    """
    rows = [row for row in tables.names if row.notation == "french"]
    for diameter in {row.diameter for row in rows}:
        here = [row for row in rows if row.diameter == diameter]
        widths = {row.widths[0] for row in here if row.widths}
        for letter in {"", *(row.mark for row in here)}:
            lettered = [row for row in here if letter in ("", row.mark)]
            for width in ("", *sorted(widths)):
                fitting = [row for row in lettered if not row.widths or row.widths[0] == width]
                if fitting:
                    key = int(diameter), letter, float(width or 0)
                    made.french[key] = groups(fitting, tables)


def groups(rows: Iterable[Name], tables: Tables, called: str = "") -> tuple[Group, ...]:
    """Rows of one text by bead seat diameter; `called` says what the text is, if not the name."""
    by_bsd: dict[int, list[Name]] = {}
    for row in rows:
        by_bsd.setdefault(row.bsd, []).append(row)
    exact = any(
        row.widths and not row.doubt and row.notation == "inch_decimal"
        for group in by_bsd.values()
        for row in group
    )
    return tuple(
        _group(group, tables, called, beside=exact and not any(row.widths for row in group))
        for group in by_bsd.values()
    )


def _group(rows: Sequence[Name], tables: Tables, called: str, beside: bool) -> Group:
    count = tables.counted(rows)
    rests_on = _standing(rows, count)
    best = min(rows, key=lambda row: (not row.widths, bool(row.doubt)))
    return Group(
        best.bsd,
        best,
        count,
        rests_on,
        UNVERIFIED_CAP if rests_on is Standing.UNVERIFIED else CAPS[min(count, len(CAPS) - 1)],
        support(rows, count) * (FAMILY_BESIDE_EXACT if beside else 1.0),
        frozenset(row.home for row in rows if row.home),
        all(row.doubt == "misprint" for row in rows),
        any(row.widths for row in rows),
        ", ".join(dict.fromkeys(key for row in rows for key in row.sources)),
        _why(best, called, count, rests_on),
    )


def _standing(rows: Sequence[Name], count: int) -> Standing:
    if count:
        return Standing.AGREED if count > 1 else Standing.SINGLE
    remembered = all(key == "MEM" for row in rows for key in row.sources)
    return Standing.MEMORY if remembered else Standing.UNVERIFIED


def support(rows: Sequence[Name], count: int) -> float:
    """Weight of a meaning among the others of its text, in tables, away from any home."""
    if not count:
        base = MEMORY if _standing(rows, 0) is Standing.MEMORY else UNVERIFIED
    else:
        base = count + TIE * any(key in UNCHECKED for row in rows for key in row.sources)
    return base * max(DOUBTS[row.doubt] for row in rows)


def _why(row: Name, called: str, count: int, rests_on: Standing) -> str:
    """One sentence: what is meant, who says so, and what to know about it."""
    what = called or row.text
    if row.notation == "inch_decimal" and not row.widths and not called:
        what = N_(f"{row.diameter} inch with a decimal width")
    who = {
        Standing.AGREED: N_(f"in {count} independent tables"),
        Standing.SINGLE: N_("in one table alone"),
        Standing.UNVERIFIED: N_("in a list that nobody could check"),
        Standing.MEMORY: N_("from memory alone"),
    }[rests_on]
    notes = [row.origin if row.doubt == "local" else "", "" if called else row.note]
    extra = "; ".join(note for note in notes if note)
    return N_(f"{what} is {row.bsd} {who}") + (f" ({extra})" if extra else "")


def plain(code: str) -> str:
    """A code or word by its letters, digits and plus signs: 'E.A.3' and 'EA3' are one.

    >>> plain("E.A. 3"), plain("26 W/O"), plain("27.5+")
    ('EA3', '26WO', '275+')
    """
    return "".join(letter for letter in code.upper() if letter.isalnum() or letter == "+")
