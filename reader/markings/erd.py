"""Effective rim diameter, for spoke length: ERD 602.9 mm. Never a bead seat diameter.

Source: '700C, ERD 602.9mm, ETRTO 622X16mm' on a rim (sizes list, rims); E.R.D. in a spoke maker's
pages.

>>> [(m.text, m.numbers["value"]) for m in find("700C, ERD 602.9mm, ETRTO 622X16")]
[('ERD 602.9', 602.9)]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import is_plausible
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "erd"
_MARK = re.compile(r"(?<![A-Z0-9])E\.?\s?R\.?\s?D\.?\s?[:=]?\s?(\d{3}(?:[.,]\d)?)(?!\d)(?:\s?MM)?")


def clean(line: str) -> Iterator[Marking]:
    """Effective rim diameters of a folded text, in mm."""
    for match in _MARK.finditer(line):
        value = float(match[1].replace(",", "."))
        if is_plausible("effective rim diameter", value):
            yield Marking(NAME, f"ERD {value:g}", {"value": value}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="effective rim diameter",
    title="effective rim diameter, not a size",
    clean=clean,
    rim_text=4.0,  # judgement: hardly on tyres
)
find = NOTATION.find
