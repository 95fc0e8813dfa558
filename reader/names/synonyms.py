"""From a size to all its names in inches and French numbers."""

from __future__ import annotations

from reader.records import Size
from reader.table_rows import Name, inches
from reader.tables import Tables

RARE = 0.05  # names below this weight are misuse: understood, not taught


def other_names(size: Size, tables: Tables) -> tuple[str, ...]:
    """All inch and French names of a size, as a mechanic would write them.

    With a width only the names that go with it; without one, every name of the bead seat diameter.

    >>> from reader.tables import load_tables
    >>> other_names(Size(507, 47), load_tables())
    ('24 x 1.75', '24 x 1.80', '24 x 1.85', '24 x 1.90', '24 x 1.95')
    >>> other_names(Size(590), load_tables())
    ('26 x 1 3/8 (E.A.3)', '650A')
    """
    found: list[str] = []
    for row in tables.names:
        if row.bsd == size.bsd and row.weight >= RARE:
            found.extend(_written(row, size.width, tables))
    return tuple(dict.fromkeys(found))


def _written(row: Name, width: float | None, tables: Tables) -> list[str]:
    code = f" ({row.mark})" if row.mark and row.notation.startswith("inch") else ""
    if row.notation == "french":
        if not row.mark and not row.widths:
            return []
        texts = row.widths or tuple(_french_widths(width, tables))
        if width is not None and row.widths and format(width, "g") not in row.widths:
            return []
        return [f"{row.diameter}x{text}{row.mark}" for text in texts] or [row.diameter + row.mark]
    style = "decimal" if row.notation == "inch_decimal" else "fraction"
    middle = f"{row.diameter} x {row.height} x " if row.height else f"{row.diameter} x "
    if width is None:
        texts = row.widths or (f"{_decimal(row.low)} to {_decimal(row.high)}",)
    else:
        texts = tuple(
            one.text
            for one in tables.inch_rows
            if one.style == style
            and width in (one.tyre_mm, one.also_mm)
            and _carries(row, one.text)
        )
    return [f"{middle}{text}{code}" for text in texts]


def _decimal(width: float) -> str:
    return f"{width:.1f}" if round(width, 1) == width else f"{width:g}"


def _carries(row: Name, text: str) -> bool:
    return text in row.widths if row.widths else row.low <= inches(text) <= row.high


def _french_widths(width: float | None, tables: Tables) -> list[str]:
    if width is None:
        return []
    also = [one.text for one in tables.inch_rows if one.style == "french" and one.also_mm == width]
    return [format(width, "g"), *also]


def printed(row: Name) -> tuple[str, ...]:
    """A row's names with each of its printed widths; () for a range of decimals.

    >>> from reader.tables import load_tables
    >>> printed(next(row for row in load_tables().names if row.mark == "E.A.3"))
    ('26 x 1 3/8 (E.A.3)',)
    """
    if row.notation == "french":
        return tuple(f"{row.diameter}x{text}{row.mark}" for text in row.widths) or (
            (row.diameter + row.mark,) if row.mark else ()
        )
    code = f" ({row.mark})" if row.mark else ""
    middle = f"{row.diameter} x {row.height} x " if row.height else f"{row.diameter} x "
    return tuple(f"{middle}{text}{code}" for text in row.widths)
