"""Largest load on the tyre: MAX LOAD 115 KG. No size; the value is in kg.

Source: '4.50-6.50 bar (65-95 psi), max load 80 kg' (a maker's line, sizes list). 1 lb =
0.45359237 kg (NIST SP 811, appendix B.8).

>>> [(m.text, m.numbers["value"]) for m in find("MAX LOAD 80 KG (176 LBS)")]
[('80 kg', 80.0), ('176 lb', 79.8)]
>>> list(find("INFLATE TO 4.5 KG/CM2")), list(find("INFLATE TO 50 LBS"))
([], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import is_plausible
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking
from reader.text.units import POUND

NAME = "load"
_LOAD = re.compile(
    r"(?<![\d.,-])(\d{1,4}(?:[.,]\d)?)\s?(KGS?|LBS?)\b\.?(?!\s?(?:F\b|/\s?[CS]|PER))"
)
_INFLATE = re.compile(r"INFL[A-Z]*\s?(?:TO\s?)?(?:\d+\s?(?:-|TO)\s?)?$")


def clean(line: str) -> Iterator[Marking]:
    """Loads of a folded text."""
    if "KG" not in line and "LB" not in line:
        return
    for match in _LOAD.finditer(line):
        number = float(match[1].replace(",", "."))
        pounds = match[2].startswith("L")
        kilograms = round(number * POUND, 1) if pounds else number
        if pounds and _INFLATE.search(line[: match.start()]):
            continue
        if is_plausible("load", kilograms):
            text = f"{number:g} {'lb' if pounds else 'kg'}"
            yield Marking(NAME, text, {"value": kilograms}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="load",
    title="load, not a size",
    clean=clean,
    tyre_text=0.5,  # judgement: now and then on rims
)
find = NOTATION.find
