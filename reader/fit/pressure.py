"""Pressure: units, and how hard a tyre on a rim may be pumped at most and at least."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.parts import Rim, RimKind, Tyre, check_pressure
from reader.language import N_
from reader.table_rows import PressureLimit
from reader.tables import Tables
from reader.text import units

KPA = {name.lower(): kpa for name, kpa in units.KPA.items()}
_TEXT = re.compile(
    r"\s*(-?\d+(?:[.,]\d+)?)\s*(kpa|bars?|p\.?s\.?i\.?|lbs?|kg/cm(?:2|²)|kgf/cm(?:2|²)|at)\s*",
    re.IGNORECASE,
)
_EXAMPLE = N_("write one number and one unit, for example '80 psi', '5.5 bar' or '550 kPa'")


def parse_pressure(text: str) -> float:
    """A pressure in kPa from text with its unit.

    Raises:
        InputError: no unit, several units, not a number, or beyond any bicycle tyre.

    >>> round(parse_pressure('80 psi'), 1), parse_pressure('5,5 bar')
    (551.6, 550.0)
    """
    match = _TEXT.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no pressure", _EXAMPLE)
    kpa = float(match[1].replace(",", ".")) * KPA[unit_named(match[2])]
    if kpa < 0:
        raise InputError(f"a negative pressure, '{text}'", _EXAMPLE)
    check_pressure(kpa)
    return kpa


def unit_named(text: str) -> str:
    """The unit that a printed word means, as a key of KPA.

    >>> unit_named('P.S.I.'), unit_named('lbs'), unit_named('kg/cm²')
    ('psi', 'psi', 'kg/cm2')
    """
    plain = text.lower().replace(".", "").replace("²", "2").rstrip("s")
    return {"lb": "psi", "at": "kg/cm2", "kgf/cm2": "kg/cm2"}.get(plain, plain)


def convert(kpa: float, unit: str) -> float:
    """A pressure in kPa in another unit: 'kpa', 'bar', 'psi' or 'kg/cm2'.

    >>> round(convert(500, 'psi'), 2)
    72.52
    """
    if unit.lower() not in KPA:
        raise InputError(f"no pressure unit '{unit}'", f"use one of {', '.join(KPA)}")
    return kpa / KPA[unit.lower()]


def at_most(kpa: float) -> str:
    """A greatest pressure in three units, rounded down so that none is above it.

    >>> at_most(500)
    '500 kPa = 5.0 bar = 72 psi'
    """
    bar = math.floor(kpa / 10 + 1e-6) / 10
    psi = math.floor(kpa / KPA["psi"] + 1e-3)
    return N_(f"{math.floor(kpa + 1e-6)} kPa = {bar:.1f} bar = {psi} psi")


def at_least(kpa: float) -> str:
    """A least pressure in three units, rounded up so that none is below it.

    >>> at_least(300)
    '300 kPa = 3.0 bar = 44 psi'
    """
    bar = math.ceil(kpa / 10 - 1e-6) / 10
    psi = math.ceil(kpa / KPA["psi"] - 1e-3)
    return N_(f"{math.ceil(kpa - 1e-6)} kPa = {bar:.1f} bar = {psi} psi")


@dataclass(frozen=True)
class Bound:
    """One limit in kPa and who sets it."""

    kpa: float
    by: str
    source: str
    from_memory: bool = False
    unverified: bool = False  # it rests on one transcription


@dataclass(frozen=True)
class PressureRange:
    """What a tyre on a rim may carry; `None` where nothing sets a limit. All bounds are kept."""

    low: Bound | None
    high: Bound | None
    bounds: tuple[Bound, ...]

    @property
    def possible(self) -> bool:
        """Whether any pressure lies between both limits."""
        return not (self.low and self.high and self.low.kpa > self.high.kpa)


def pressure_range(tyre: Tyre, rim: Rim | None, tables: Tables, use: str = "road") -> PressureRange:
    """The lowest of all upper limits and the highest of the tyre's own and the tables' lower ones.

    Where rules conflict the stricter one counts. The table's least pressure yields when it is
    above the upper limit: it is advice of an older edition (source W); the tyre's own never does.

    Args:
        use: 'road' or 'off-road'; only the recommended least pressure depends on it.
    """
    highs = [Bound(tyre.max_kpa, N_("the tyre's marking"), "marking")] if tyre.max_kpa else []
    lows = [Bound(tyre.min_kpa, N_("the tyre's marking"), "marking")] if tyre.min_kpa else []
    if rim is not None and rim.max_kpa:
        highs.append(Bound(rim.max_kpa, N_("the rim's marking"), "marking"))
    kind = rim.kind if rim is not None else RimKind.UNKNOWN
    highs += [_bound(row) for row in _limits(tyre, kind, "max", tables)]
    high = min(highs, key=lambda bound: bound.kpa, default=None)
    advised = [_bound(row) for row in _limits(tyre, kind, "min", tables) if row.use == use]
    lows += [bound for bound in advised if high is None or bound.kpa <= high.kpa]
    low = max(lows, key=lambda bound: bound.kpa, default=None)
    return PressureRange(low, high, (*lows, *highs))


def _bound(row: PressureLimit) -> Bound:
    single = row.basis == "single"
    return Bound(row.kpa, row.edition, row.source, row.from_memory and not single, single)


def _limits(tyre: Tyre, kind: RimKind, limit: str, tables: Tables) -> list[PressureLimit]:
    width = tyre.size.width
    return [
        row
        for row in tables.pressure_limits
        if row.limit == limit
        and (not row.rim_kinds or kind in row.rim_kinds)
        and (_everywhere(row) or (width is not None and _covers(row, width)))
    ]


def _everywhere(row: PressureLimit) -> bool:
    return row.tyre_from == 0 and row.tyre_to == 999


def _covers(row: PressureLimit, width: float) -> bool:
    # A width between two rows (44.5) takes both rows; the stricter one then counts.
    return row.tyre_from - 1 < width < row.tyre_to + 1
