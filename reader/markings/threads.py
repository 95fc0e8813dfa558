"""Threads per inch of the casing: 67 TPI, 60 EPI. No size, and never read as one.

Source: threads per inch or EPI beside the size (sizes list, sidewall strings).

>>> [(m.text, m.numbers["value"]) for m in find("3x60 TPI")]
[('60 TPI', 60)]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import is_plausible
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "threads"
_AFTER = re.compile(r"(?<![\d.,-])(?:\d\s?X\s?)?(\d{2,3})\s?([TE]\.?\s?P\.?\s?I\b\.?)")
_BEFORE = re.compile(r"\b([TE]\.?P\.?I)\b[.:]?\s?(\d{2,3})(?![\d.,/X-]|\s?(?:[X*-]|PSI|KG|BAR))")


def clean(line: str) -> Iterator[Marking]:
    """Counts of threads of a folded text."""
    if "PI" not in line and "P.I" not in line:
        return
    taken = set()
    for match in _AFTER.finditer(line):
        taken.add(match.start(2))
        yield from _plausible(match[1], match[2], match.span())
    for match in _BEFORE.finditer(line):
        if match.start(1) not in taken:
            yield from _plausible(match[2], match[1], match.span())


def _plausible(count: str, unit: str, span: tuple[int, int]) -> Iterator[Marking]:
    if is_plausible("threads", int(count)):
        text = f"{int(count)} {re.sub('[^A-Z]', '', unit)}"
        yield Marking(NAME, text, {"value": int(count)}, span)


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="threads",
    title="threads per inch, not a size",
    clean=clean,
    tyre_text=1.5,  # judgement: casings are tyres'
)
find = NOTATION.find
