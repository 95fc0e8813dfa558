"""A width that stands alone: '25 mm', '2.10', '38C'. It tells no diameter.

Many tyres say no more on the side that one sees (common practice, no source). Only a line that
holds nothing else counts: such numbers stand everywhere.

>>> [(m.text, m.numbers) for t in ("25 MM", '2.1"', "38C") for m in find(t)]
[('25 mm', {'width_mm': 25}), ('2.1', {'width_in': 2.1}), ('38C', {'width_mm': 38})]
>>> list(find("25 mm MAX"))
[]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.known import is_plausible
from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "width"
_MM = re.compile(r"\s*(?:W\.?\s?)?(\d{2,3})\s?MM\.?\s*")
_FRENCH = re.compile(r"\s*(\d{2})\s?C\s*")
_INCH = re.compile(r"\s*(?:W\.?\s?|X\s?)?(\d[.,]\d{1,2})\s?[\"']{0,2}\s*")


def clean(line: str) -> Iterator[Marking]:
    """The width that a folded line is, if it is one."""
    for pattern, written in ((_MM, "{} mm"), (_FRENCH, "{}C")):
        match = pattern.fullmatch(line)
        if match and is_plausible("tyre width", int(match[1])):
            text = written.format(int(match[1]))
            yield Marking(NAME, text, {"width_mm": int(match[1])}, match.span(1))
    match = _INCH.fullmatch(line)
    if match:
        text = match[1].replace(",", ".")
        if is_plausible("lone decimal width", float(text)):
            yield Marking(NAME, text, {"width_in": float(text)}, match.span(1))


NOTATION = Notation(
    name=NAME,
    kind=Kind.DECOY,
    tells=Tells.WIDTH,
    label="width alone",
    title="a width alone, which tells no diameter",
    clean=clean,
)
find = NOTATION.find
