"""Inflation pressure: one limit or a range, in PSI, bar, kPa or kg/cm2; kPa in the numbers.

Sources: 'PSI: 35 - 60 // BAR: 2.4 - 4.1' on a photographed tyre (fixtures/replay, real-gravel…);
'4.50-6.50 bar (65-95 psi), max load 80 kg' (a maker's line, sizes list); 'inflate to 400
kPa' (ISO 5775-1 as summarised at en.wikipedia.org/wiki/ISO_5775). 1 bar = 100 kPa; 1 psi = 6.894757
kPa and 1 kgf/cm2 = 98.0665 kPa (NIST SP 811, appendix B.8). A single pressure, or one marked MAX,
is `high_kpa` with `low_kpa` 0; one marked MIN is `low_kpa` with `high_kpa` 0: 0 is 'not told'.

>>> [(m.text, round(m.numbers["high_kpa"])) for m in find("4.50-6.50 BAR (65-95 P.S.I.)")]
[('4.5-6.5 bar', 650), ('65-95 PSI', 655)]
>>> [(m.text, m.numbers["low_kpa"], m.numbers["high_kpa"]) for m in find("INFLATE TO 400 kPa")]
[('400 kPa', 0.0, 400.0)]
>>> [(m.text, round(m.numbers["low_kpa"])) for m in find("MIN. 2,5 MAX. 5 kg/cm²")]
[('2.5-5 kg/cm2', 245)]
>>> [m.text for m in find("PSI: 35 - 60 // BAR: 2.4 - 4.1")]
['35-60 PSI', '2.4-4.1 bar']
>>> list(find("5000 PSI")), list(find("MAX LOAD 80 KG"))
([], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import is_plausible
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking
from reader.text.confusables import ALIKE
from reader.text.units import KPA

NAME = "pressure"
WIDEST = 6.0  # times the lower end, for a range

_UNITS = (
    ("PSI", r"P\.?\s?S\.?\s?I(?![A-Z])\.?|LBS?\.?\s?(?:/|PER)\s?SQ?\.?\s?IN(?:CH)?(?![A-Z])\.?"),
    ("PSI", r"P[S5][I1L|](?![A-Z])|P5I(?![A-Z])"),  # look-alikes
    ("bar", r"BARS?(?![A-Z])|[B8]AR(?![A-Z])"),
    ("kPa", r"KPA(?![A-Z])|KP[A4](?![A-Z])"),
    ("kg/cm2", r"KG?[FP]?\.?\s?/\s?CM\s?2?"),
)
_CLEAN_UNIT = re.compile(r"P\.?\s?S\.?\s?I\.?|LB.*|BARS?|KPA|K.*CM.*", re.DOTALL)
_UNIT = "|".join(f"(?:{pattern})" for _, pattern in _UNITS)
_NUMBER = r"(\d{1,4}(?:[.,]\d{1,2})?)"
_QUICK = re.compile(r"P\.?\s?S|AR|KP|CM|P5|LBS|INFL")
_PRESSURE = re.compile(
    rf"(?<![\d.,])(?:(MAX|MIN)[A-Z]*[.:]?\s?)?{_NUMBER}"
    rf"(?:\s?({_UNIT})?\s?(?:-|TO|/|&|~|BIS)\s?{_NUMBER})?\s?({_UNIT})"
)
_LEAST_MOST = re.compile(
    rf"MIN[A-Z]*[.:]?\s?{_NUMBER}\s?(?:{_UNIT})?\s?[-,/]?\s?MAX[A-Z]*[.:]?\s?{_NUMBER}\s?({_UNIT})"
)
_UNIT_FIRST = re.compile(
    rf"(?:({_UNIT})\s?:|(?<!\d)(?<!\d\s)({_UNIT}))\s?{_NUMBER}\s?-\s?{_NUMBER}(?!\d|\s?(?:{_UNIT}))"
)
_POUNDS = re.compile(r"INFL[A-Z]*\s?(?:TO\s?)?(\d{2,3})(?:\s?(?:-|TO)\s?(\d{2,3}))?\s?(LBS?\b)")


def clean(line: str) -> Iterator[Marking]:
    """Pressures of a folded text; a look-alike in the unit costs."""
    if not _QUICK.search(line):
        return
    told = [m.span() for m in _LEAST_MOST.finditer(line)]
    for match in _UNIT_FIRST.finditer(line):
        told.append(match.span())
        yield from _plausible(match[3], match[4], match[1] or match[2], match.span())
    for match in _LEAST_MOST.finditer(line):
        yield from _plausible(match[1], match[2], match[3], match.span())
    for match in _PRESSURE.finditer(line):
        if not any(start < match.end() and match.start() < end for start, end in told):
            yield from _single_or_range(match)
    for match in _POUNDS.finditer(line):  # old British use: INFLATE TO 50 LBS
        low, high = (match[1], match[2]) if match[2] else (None, match[1])
        yield from _plausible(low, high, "PSI", match.span())


def _single_or_range(match: re.Match[str]) -> Iterator[Marking]:
    limit, low, inner, high, unit = match.groups()
    if high is None:
        least, most = (low, None) if limit == "MIN" else (None, low)
        yield from _plausible(least, most, unit, match.span())
        return
    if inner and _name(inner) != _name(unit):  # the same limit twice: 8 BAR / 115 PSI
        yield from _plausible(None, low, inner, (match.start(), match.end(3)))
        yield from _plausible(None, high, unit, (match.start(4), match.end()))
        return
    found = list(_plausible(low, high, unit, match.span()))
    # The number before may belong to something else: 20x1.75-65 PSI.
    yield from found or _plausible(None, high, unit, (match.start(4), match.end()))


def _name(printed: str) -> str:
    return next(name for name, pattern in _UNITS if re.fullmatch(pattern, printed))


def _plausible(
    low: str | None, high: str | None, printed: str, span: tuple[int, int]
) -> Iterator[Marking]:
    unit = _name(printed)
    cost = 0.0 if _CLEAN_UNIT.fullmatch(printed) else ALIKE
    ends = [float(text.replace(",", ".")) if text else 0.0 for text in (low, high)]
    kpa = [round(end * KPA[unit], 3) for end in ends]
    if any(end and not is_plausible("pressure", end) for end in kpa):
        return
    if all(kpa) and not kpa[0] <= kpa[1] <= WIDEST * kpa[0]:
        return
    numbers: dict[str, float | str] = {"low_kpa": kpa[0], "high_kpa": kpa[1], "unit": unit}
    told = "-".join(f"{end:g}" for end in ends if end)
    yield Marking(NAME, f"{told} {unit}", numbers, span, cost)


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="pressure",
    title="pressure",
    clean=clean,
    tyre_text=0.5,  # judgement: now and then on rims
)
find = NOTATION.find
