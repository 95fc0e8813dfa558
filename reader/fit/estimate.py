"""A number with its unit, its error bar, how it was got and from where."""

from __future__ import annotations

from dataclasses import dataclass

from reader.language import N_


@dataclass(frozen=True)
class Estimate:
    """`value` lies between `low` and `high`; `from_memory`: rests on memory or common practice."""

    value: float
    low: float
    high: float
    unit: str
    formula: str
    source: str  # keys of sources.csv, joined by ', '
    from_memory: bool = False

    def __str__(self) -> str:
        digits = 0 if abs(self.value) >= 100 else 1
        low, high = (f"{end:.{digits}f}" for end in (self.low, self.high))
        return N_(f"{self.value:.{digits}f} {self.unit} ({low} to {high})")


def spread(
    value: float, share: float, unit: str, formula: str, source: str, from_memory: bool = False
) -> Estimate:
    """An estimate with an error bar of plus or minus `share` of the value.

    >>> str(spread(2000, 0.025, 'mm', 'measured', 'GEO'))
    '2000 mm (1950 to 2050)'
    """
    half = abs(value) * share
    return Estimate(value, value - half, value + half, unit, formula, source, from_memory)
