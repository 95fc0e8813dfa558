"""What exists: the bead seat diameters, widths and names that a marking may speak of.

Everything here is derived from the tables; their rows carry the sources.
"""

from __future__ import annotations

from functools import lru_cache

from reader.name_rows import Name
from reader.tables import Tables, load_tables

TYRE_SLACK = (3, 4)  # mm below and above the listed widths that a clean marking may still have
WIDE = 80  # mm: wider tyres are few, so only listed widths count
TYRE_USUAL = (20, 54)  # mm, taken as listed everywhere: a rare width must not look like damage
RIM_SLACK = (1, 3)
RIM_USUAL = (12, 35)  # mm, for diameters without a listed rim; common practice, no source
USUAL_WEIGHT = 0.4  # of a width's row
COMMON = 2e-4  # share of parts below which a diameter is too rare to guess from damaged text


@lru_cache(maxsize=1)
def tables() -> Tables:
    """The shipped tables."""
    return load_tables()


def is_plausible(what: str, value: float) -> bool:
    """Whether a value lies where parts that are made have it (plausible.csv, both ends allowed).

    >>> is_plausible("load", 115), is_plausible("load", 5)
    (True, False)
    """
    low, high = tables().plausible[what]
    return low <= value <= high


@lru_cache(maxsize=1)
def seats() -> frozenset[int]:
    """Every bead seat diameter in mm, beaded-edge rims included."""
    return frozenset(tables().bsds)


@lru_cache(maxsize=1)
def common_seats() -> tuple[str, ...]:
    """Diameters of wired-edge tyres that are met now and then in some market, as texts."""
    data = tables()
    return tuple(
        str(seat.bsd)
        for seat in data.seats
        if seat.kind == "wired" and max(data.prior(seat.bsd, m) for m in data.markets) >= COMMON
    )


@lru_cache(maxsize=256)
def _tyre_widths(bsd: int) -> tuple[float, ...]:
    return tables().tyre_widths_at(bsd)


@lru_cache(maxsize=256)
def _tyre_range(bsd: int) -> tuple[float, float]:
    if bsd not in seats():
        return 1.0, 0.0
    widths = (*_tyre_widths(bsd), *TYRE_USUAL)
    return min(widths) - TYRE_SLACK[0], max(widths) + TYRE_SLACK[1]


@lru_cache(maxsize=256)
def _rim_range(bsd: int) -> tuple[float, float]:
    widths = tables().rim_widths_at(bsd) if bsd in seats() else ()
    if widths:
        return min(widths) - RIM_SLACK[0], max(widths) + RIM_SLACK[1]
    return RIM_USUAL if bsd in seats() else (1.0, 0.0)


@lru_cache(maxsize=256)
def usual_tyre_widths(bsd: int) -> tuple[float, ...]:
    """Widths in mm that are common enough at this diameter to be guessed from damaged text."""
    usual = {row.width for row in tables().width_rows if row.weight >= USUAL_WEIGHT}
    return tuple(width for width in tables().tyre_widths_at(bsd) if width in usual)


def is_tyre(width: float, bsd: int) -> bool:
    """Whether a tyre of this nominal width in mm is plausible on this bead seat diameter in mm.

    >>> is_tyre(47, 507), is_tyre(12, 622), is_tyre(47, 508), is_tyre(113, 559)
    (True, False, False, False)
    """
    low, high = _tyre_range(bsd)
    if width > WIDE and low <= high:
        return width in _tyre_widths(bsd)
    return low <= width <= high


def is_rim(width: float, bsd: int, widest: float = 0) -> bool:
    """Whether a rim of this inner width in mm is plausible at this bead seat diameter in mm.

    `widest` is an inner width in mm that is taken as plausible everywhere; listed ones are anyhow.

    >>> is_rim(19, 622), is_rim(62, 590), is_rim(19, 700)
    (True, False, False)
    """
    low, high = _rim_range(bsd)
    return low <= width <= max(high, widest if low <= high else 0)


@lru_cache(maxsize=16)
def names(notation: str) -> tuple[Name, ...]:
    """All rows of one notation in the table of names."""
    return tuple(row for row in tables().names if row.notation == notation)


@lru_cache(maxsize=1)
def french_diameters() -> tuple[str, ...]:
    """Outer diameters of French names in mm, as texts, each once."""
    return tuple(dict.fromkeys(row.diameter for row in names("french")))


@lru_cache(maxsize=256)
def french_seats(diameter: int, letter: str, width: str = "") -> tuple[int, ...]:
    """Bead seat diameters in mm that a French diameter and letter can mean; without, all.

    With a `width` as printed also what the tables know of that width alone (600 x 45C).

    >>> french_seats(700, "C"), french_seats(600, "A"), french_seats(600, "C")
    ((622,), (540, 541), ())
    >>> french_seats(600, "C", "45")
    (501,)
    """
    return tuple(
        sorted(
            {
                row.bsd
                for row in names("french")
                if row.diameter == str(diameter)
                and letter in ("", row.mark)
                and (not row.widths or width in row.widths)
            }
        )
    )
