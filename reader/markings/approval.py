"""Approval marks: E4 75R-0012345, ECE-R75, numbers of standards. No size.

Source: UN Regulation No. 75 covers motorcycle and moped tyres (EUR-Lex 42011X0330(02), title); the
number's layout from memory.

>>> [m.numbers["value"] for m in find("E4 75R-0012345  ECE-R75")]
['E4 75R-0012345', 'ECE-R75']
>>> list(find("26 x 1 3/8 E.A.3"))
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "approval"
_APPROVAL = re.compile(
    r"(?:(?<![A-Z0-9.])\(?E\s?\d{1,2}\)?\s*)?(?<!\d)\d{2,3}\s?R\s?-?\s?\d{4,8}(?!\d)"
    r"|\bECE[\s-]?R\.?\s?-?\d{2,3}\b"
    r"|\bISO\s?(?:5775|4210)(?:-\d)?(?::?\s?\d{4})?(?!\d)"
    r"|\bDIN\s?(?:EN\s?)?\d{4,5}(?:-\d)?(?!\d)"
)


def clean(line: str) -> Iterator[Marking]:
    """Approval marks of a folded text."""
    if "R" not in line and "E" not in line and "I" not in line:
        return
    for match in _APPROVAL.finditer(line):
        value = re.sub(r"\s+", " ", match[0]).strip()
        yield Marking(NAME, value, {"value": value}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.DECOY,
    tells=Tells.NOTHING,
    label="approval number",
    title="approval number, not a size",
    clean=clean,
)
find = NOTATION.find
