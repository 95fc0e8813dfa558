"""Pressures as they are printed on tyres and rims: one limit, a range, one or two units.

Forms read (tyre makers' lines, an e-bike page, a sports chain's help page): '4.50-6.50 Bar (65-95
psi)', 'INFLATE TO 50-85 PSI', '2.2-4.3 bar 32-62 psi', 'MIN 30 PSI / MAX 50 PSI'.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.parts import check_pressure
from reader.fit.pressure import KPA, unit_named
from reader.language import N_

TOLERANCE = 0.04  # share by which a limit printed in two units may differ: rounding
EXAMPLE = N_("write it as printed, for example '65-95 PSI', 'MAX 80 PSI' or '5.5 bar'")
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_UNIT = r"(kpa|bars?|p\.?s\.?i\.?|lbs?\.?|kgf?/cm(?:2|\u00b2)|at)(?![a-z])"
_ONE = re.compile(
    rf"(?:(min|max)[a-z]*[.:]?\s*(?:(?:tyre|tire|air|pressure)[.:]?\s*)*)?{_NUMBER}"
    rf"(?:\s*(?:{_UNIT})?\s*(?:-|\u2013|\u2014|to|\.\.|(?=max))\s*(?:max[a-z]*[.:]?\s*)?{_NUMBER})?\s*{_UNIT}",
    re.IGNORECASE,
)
_REST = re.compile(
    r"\s|[()\[\]/,;:.&=+-]|inflate|pressure|tyre|tire|recommended|to|at|and|only", re.IGNORECASE
)


@dataclass(frozen=True)
class Printed:
    """What a printed text says, in kPa; `None` where it sets no such limit.

    Where two units differ by more than their rounding, `differs` says so in one sentence and the
    stricter figures count: the higher least and the lower greatest.
    """

    text: str
    low: float | None
    high: float | None
    units: tuple[str, ...]
    differs: str = ""


@dataclass
class _Limits:
    low: float | None = None
    high: float | None = None


def parse_printed(text: str) -> Printed:
    """The limits of a printed pressure; a single bare pressure is a greatest one.

    Raises:
        InputError: no unit, a word that is none of a pressure's, the ends of a range the wrong way
            round, two limits in one unit, or a pressure beyond any bicycle tyre.

    >>> found = parse_printed("MIN 2.0 BAR MAX 4.0 BAR (30-58 PSI)")
    >>> round(found.low), round(found.high), found.units, found.differs
    (207, 400, ('bar', 'psi'), '')
    """
    stated: dict[str, _Limits] = {}
    for match in _ONE.finditer(text):
        _add(stated, match, text)
    if not stated or text.lstrip().startswith("-") or _REST.sub("", _ONE.sub(" ", text)):
        raise InputError(f"'{text}' is no pressure", EXAMPLE)
    lows = [one.low for one in stated.values() if one.low is not None]
    highs = [one.high for one in stated.values() if one.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if low is not None and high is not None and low > high:
        raise InputError(f"'{text}' has its least above its greatest pressure", EXAMPLE)
    return Printed(text.strip(), low, high, tuple(stated), _differs(lows, highs))


def _add(stated: dict[str, _Limits], match: re.Match[str], text: str) -> None:
    word, first, inner, second, last = match.groups()
    unit = unit_named(last)
    if inner and unit_named(inner) != unit:  # '8 bar - 115 psi': the same limit twice
        raise InputError(f"'{text}' mixes units in one range", EXAMPLE)
    kpa = [float(end.replace(",", ".")) * KPA[unit] for end in (first, second) if end]
    for one in kpa:
        check_pressure(one)
    limits = stated.setdefault(unit, _Limits())
    if len(kpa) == 2:
        _set(limits, "low", kpa[0], text)
    least = len(kpa) == 1 and (word or "").lower() == "min"
    _set(limits, "low" if least else "high", kpa[-1], text)


def _set(limits: _Limits, end: str, kpa: float, text: str) -> None:
    if getattr(limits, end) is not None:
        raise InputError(f"'{text}' sets one limit twice", EXAMPLE)
    setattr(limits, end, kpa)


def _differs(lows: list[float], highs: list[float]) -> str:
    ends = (("least", lows), ("greatest", highs))
    apart = [name for name, kpa in ends if kpa and max(kpa) > (1 + TOLERANCE) * min(kpa)]
    if not apart:
        return ""
    return N_(
        f"its units differ on the {' and the '.join(apart)} pressure by more than rounding: "
        "read it again; the stricter counts"
    )
