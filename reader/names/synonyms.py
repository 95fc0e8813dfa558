"""From a size to all its names in inches and French numbers."""

from __future__ import annotations

from functools import lru_cache

from reader.name_rows import ERAS, Name
from reader.names.index import support
from reader.records import Size
from reader.table_rows import inches
from reader.tables import Tables

_ORDER = ("inch_fraction", "inch_decimal", "inch_three", "french", "code")


@lru_cache(maxsize=4096)
def other_names(size: Size, tables: Tables) -> tuple[str, ...]:
    """All inch and French names of a size, as a mechanic would write them.

    With a width only the names that go with it; without one, every name of the bead seat diameter.
    Careless uses, one market's habits and what no published table holds are understood, not taught.

    >>> from reader.tables import load_tables
    >>> other_names(Size(507, 47), load_tables())[:5]
    ('24 x 1.75', '24 x 1.80', '24 x 1.85', '24 x 1.90', '24 x 1.95')
    >>> other_names(Size(590), load_tables())[:2]
    ('26 x 1 3/8', '26 x 1 1/8')
    """
    taught = _taught(tables).get(size.bsd, ())
    whole = {_general(row) for row in taught if not row.widths}
    if size.width is not None:  # a French name with its width is printed so
        whole = {one for one in whole if one[0] == "inch_decimal"}
    # 700C says all that 700x25C and 700x28C say
    taught = tuple(r for r in taught if not r.widths or _general(r) not in whole)
    found = [name for row in taught for name in _written(row, size.width, tables)]
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=8)
def _taught(tables: Tables) -> dict[int, tuple[Name, ...]]:
    """Rows worth teaching, by diameter: those whose text means nothing else more surely."""
    best: dict[str, float] = {}
    for row in tables.names:
        best[row.text] = max(best.get(row.text, 0.0), _support(row, tables))
    found: dict[int, list[Name]] = {}
    for row in tables.names:
        plain = row.notation in _ORDER and not row.doubt and tables.counted([row])
        if plain and _support(row, tables) == best[row.text]:
            found.setdefault(row.bsd, []).append(row)
    return {bsd: tuple(sorted(rows, key=_place)) for bsd, rows in found.items()}


def _support(row: Name, tables: Tables) -> float:
    return support([row], tables.counted([row]))


def _place(row: Name) -> tuple[int, int]:
    return ERAS.index(row.era), _ORDER.index(row.notation)


def known_as(bsd: int, tables: Tables) -> tuple[str, ...]:
    """Every name that any row gives a bead seat diameter in mm, habits of one market included.

    >>> from reader.tables import load_tables
    >>> "26 x 1 3/8" in known_as(597, load_tables())
    True
    """
    rows = [row for row in tables.names if row.bsd == bsd and row.doubt != "misprint"]
    rare = (row.text for row in rows if row.doubt or not row.low)
    return tuple(dict.fromkeys((*other_names(Size(bsd), tables), *rare)))


def _general(row: Name) -> tuple[str, str, str]:
    """What a row without a width and rows with one have in common."""
    return row.notation, row.diameter, row.mark


def _written(row: Name, width: float | None, tables: Tables) -> tuple[str, ...]:
    if row.notation == "french":
        return _french(row, width, tables)
    if width is None:
        return printed(row) or (f"{row.diameter} x {_decimal(row.low)} to {_decimal(row.high)}",)
    if row.notation == "code":
        return ()
    style = "decimal" if row.notation == "inch_decimal" else "fraction"
    fitting = {
        inches(one.text): one.text
        for one in tables.inch_rows
        if one.style == style and width in (one.tyre_mm, one.also_mm)
    }
    if row.widths:
        goes = width in row.tyre_mm or inches(row.widths[0]) in fitting
        return printed(row) if goes else ()
    texts = (text for value, text in fitting.items() if row.low <= value <= row.high)
    return tuple(f"{row.diameter} x {text}" for text in texts)


def _french(row: Name, width: float | None, tables: Tables) -> tuple[str, ...]:
    if width is None or row.widths:
        goes = width is None or width in row.tyre_mm or row.widths == (format(width, "g"),)
        return printed(row) if goes else ()
    also = [one.text for one in tables.inch_rows if one.style == "french" and one.also_mm == width]
    return tuple(f"{row.diameter}x{text}{row.mark}" for text in (format(width, "g"), *also))


def _decimal(width: float) -> str:
    return f"{width:.1f}" if round(width, 1) == width else f"{width:g}"


def printed(row: Name) -> tuple[str, ...]:
    """A row's name as a mechanic writes it; () for a range of decimals.

    >>> from reader.tables import load_tables
    >>> printed(next(row for row in load_tables().names if row.text == "650 x 35A"))
    ('650x35A',)
    """
    if row.notation == "french":
        middle = f"x{row.widths[0]}" if row.widths else ""
        return (f"{row.diameter}{middle}{row.mark}",)
    return (row.text,) if row.widths or row.mark else ()
