"""The data files, read once into typed, frozen rows and handed to the stages as an argument."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TypeVar

from reader import table_rows as typed
from reader.checksums import assure_tables
from reader.errors import InputError
from reader.name_rows import Name, make_name
from reader.table_rows import BeadSeat, Cells, InchWidth, NominalWidth, Sourced, inches

__all__ = [
    "BeadSeat",
    "InchWidth",
    "Name",
    "NominalWidth",
    "Sourced",
    "Tables",
    "inches",
    "load_tables",
]

DATA = Path(__file__).parent / "data"
Row = TypeVar("Row")


@dataclass(frozen=True, eq=False)
class Tables:
    """All tables; compared and hashed by identity, so results can be cached per set of tables."""

    seats: tuple[BeadSeat, ...]
    names: tuple[Name, ...]
    inch_rows: tuple[InchWidth, ...]
    width_rows: tuple[NominalWidth, ...]
    width_rules: tuple[typed.WidthRule, ...]
    pressure_limits: tuple[typed.PressureLimit, ...]
    near_misses: tuple[typed.NearMiss, ...]
    circumferences: tuple[typed.Circumference, ...]
    tube_labels: tuple[typed.TubeLabel, ...]
    plausible: Mapping[str, tuple[float, float]]  # least and greatest, in the unit it is marked in
    spoke_holes: frozenset[int]  # counts that rims have
    priors: Mapping[str, Mapping[int, float]] = field(repr=False)
    sources: Mapping[str, str] = field(repr=False)
    families: Mapping[str, str] = field(repr=False)  # copies of one list share one; '-' is no table

    @cached_property
    def bsds(self) -> tuple[int, ...]:
        """Every bead seat diameter in mm, ascending, beaded-edge rims included."""
        return tuple(sorted(seat.bsd for seat in self.seats))

    @cached_property
    def seat(self) -> Mapping[int, BeadSeat]:
        """Bead seat rows by diameter in mm."""
        return {seat.bsd: seat for seat in self.seats}

    @cached_property
    def tyre_widths(self) -> tuple[float, ...]:
        """Every nominal tyre width in mm, ascending."""
        return tuple(sorted(row.width for row in self.width_rows if row.part == "tyre"))

    @cached_property
    def rim_widths(self) -> tuple[float, ...]:
        """Every inner rim width in mm, ascending."""
        return tuple(sorted(row.width for row in self.width_rows if row.part == "rim"))

    @property
    def markets(self) -> tuple[str, ...]:
        """Names of the columns of the prior table, 'world' first."""
        return tuple(self.priors)

    def tyre_widths_at(self, bsd: int) -> tuple[float, ...]:
        """Nominal tyre widths in mm that exist on this bead seat diameter."""
        return self._widths_at("tyre", bsd)

    def rim_widths_at(self, bsd: int) -> tuple[float, ...]:
        """Inner rim widths in mm that exist on this bead seat diameter."""
        return self._widths_at("rim", bsd)

    def _widths_at(self, part: str, bsd: int) -> tuple[float, ...]:
        return tuple(
            row.width
            for row in self.width_rows
            if row.part == part and row.bsd_from <= bsd <= row.bsd_to
        )

    @cached_property
    def width_weight(self) -> Mapping[tuple[str, float], float]:
        """How common a width is among its part: key ('tyre' or 'rim', width in mm), sum 1 each."""
        total = {"tyre": 0.0, "rim": 0.0}
        for row in self.width_rows:
            total[row.part] += row.weight
        return {(row.part, row.width): row.weight / total[row.part] for row in self.width_rows}

    def assure_market(self, market: str) -> None:
        """Make sure that there is such a market.

        Raises:
            InputError: it has no column in prior.csv.
        """
        if market not in self.priors:
            raise InputError(f"no market '{market}'", f"choose one of {', '.join(self.markets)}")

    def prior(self, bsd: int, market: str = "world") -> float:
        """Share of this bead seat diameter among parts met in the market; 0 if none exists.

        Raises:
            InputError: the market has no column in prior.csv.
        """
        self.assure_market(market)
        return self.priors[market].get(bsd, 0.0)

    def inch_widths(self, notation: str, diameter: str) -> tuple[str, ...]:
        """Printed widths that exist with this printed diameter, e.g. ('inch_fraction', '26').

        For decimals the texts come with every count of digits in use: '1.5' and '1.50'.
        """
        rows = [row for row in self.names if (row.notation, row.diameter) == (notation, diameter)]
        texts = {text for row in rows for text in row.widths}
        for row in rows:
            if not row.widths:
                texts |= {
                    spelling
                    for width in self.inch_rows
                    if width.style == "decimal" and row.low <= float(width.text) <= row.high
                    for spelling in _spellings(float(width.text))
                }
        return tuple(sorted(texts, key=lambda text: (inches(text), text)))

    def counted(self, names: Iterable[Name]) -> int:
        """How many independent tables hold any of these names; copies of one list count once."""
        return len({self.families[key] for row in names for key in row.sources} - {"-"})

    def source_title(self, key: str) -> str:
        """The source in words."""
        return self.sources[key]


def _spellings(width: float) -> set[str]:
    texts = {text for text in (f"{width:.1f}", f"{width:.2f}") if float(text) == width}
    return texts or {f"{width:.3f}"}


def rows(path: Path, make: Callable[[Cells], Row]) -> tuple[Row, ...]:
    """Every line of one CSV file as a typed row.

    Raises:
        InputError: the file is missing, or a line lacks a column or holds a wrong value.
    """
    made: list[Row] = []
    try:
        with path.open(encoding="utf-8", newline="") as stream:
            for number, cells in enumerate(csv.DictReader(stream), start=2):
                try:
                    made.append(make(cells))
                except (KeyError, TypeError, ValueError) as error:
                    raise InputError(
                        f"{path.name}, line {number}: {error}", "mend the line, see data/README.md"
                    ) from error
    except OSError as error:
        remedy = "put it back, or install tyremark again"
        raise InputError(f"can't open the table {path}", remedy) from error
    return tuple(made)


def _priors(path: Path) -> dict[str, dict[int, float]]:
    lines = rows(path, lambda cells: {key: float(value) for key, value in cells.items()})
    markets = [key for key in lines[0] if key != "bsd_mm"]
    priors = {}
    for market in markets:
        total = sum(line[market] for line in lines)
        priors[market] = {int(line["bsd_mm"]): line[market] / total for line in lines}
    return priors


@lru_cache(maxsize=8)
def load_tables(folder: Path = DATA) -> Tables:
    """Read all tables of a folder, once.

    Raises:
        InputError: a file is missing or a line makes no sense.
        EngineError: a file is not the one that the package brought.
    """
    if folder == DATA:
        assure_tables()
    credited = rows(folder / "sources.csv", dict)
    return Tables(
        seats=rows(folder / "seats.csv", typed.make_seat),
        names=rows(folder / "names.csv", make_name),
        inch_rows=rows(folder / "inch_widths.csv", typed.make_inch_width),
        width_rows=rows(folder / "widths.csv", typed.make_width),
        width_rules=rows(folder / "rim_tyre.csv", typed.make_rule),
        pressure_limits=rows(folder / "pressure_limits.csv", typed.make_limit),
        near_misses=rows(folder / "near_misses.csv", typed.make_near_miss),
        circumferences=rows(folder / "circumference.csv", typed.make_circumference),
        tube_labels=rows(folder / "tube_labels.csv", typed.make_tube_label),
        plausible=dict(rows(folder / "plausible.csv", typed.make_plausible)),
        spoke_holes=frozenset(rows(folder / "spoke_holes.csv", lambda row: int(row["holes"]))),
        priors=_priors(folder / "prior.csv"),
        sources={cells["key"]: cells["title"] for cells in credited},
        families={cells["key"]: cells["family"] for cells in credited},
    )
