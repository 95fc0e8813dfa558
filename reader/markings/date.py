"""Dates of manufacture: DOT 2319, WEEK 23 2019, 05/2019, 2019-05-14. No size.

Common practice, no source: week and year in four digits behind DOT, or a written month and year.

>>> [m.numbers["value"] for m in find("DOT 2319, 05/2019, WK 12/21")]
['DOT 2319', '05/2019', 'WK 12/21']
>>> list(find("20-305")), list(find("20x1.75"))
([], [])
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "date"
_YEAR = r"(?:19[4-9]\d|20[0-4]\d)"
_MONTH = r"(?:0?[1-9]|1[0-2])"
_DAY = r"(?:0?[1-9]|[12]\d|3[01])"
_DATE = re.compile(
    r"\bDOT[\s:.-]*(?:[A-Z0-9]{2,4}\s){0,2}\d{4}(?!\d)"
    rf"|\b(?:WEEK|WK|KW|CW)[\s.:]*\d{{1,2}}\s?[-/., ]\s?(?:{_YEAR}|\d\d)(?!\d)"
    rf"|(?<![\d.,/X-])(?:{_DAY}[-/.])?{_MONTH}\s?[-/.]\s?{_YEAR}(?!\d|[.,/-]\d|\s?X)"
    rf"|(?<![\d.,/X-]){_YEAR}\s?[-/.]\s?{_MONTH}(?:[-/.]{_DAY})?(?!\d|/|\s?X)"
    rf"|(?:\b(?:MFG|MFD|PROD|MADE|DATE|SINCE|EST)\b[A-Z.:\s]*|©\s?){_YEAR}(?!\d)"
)


def clean(line: str) -> Iterator[Marking]:
    """Dates of a folded text."""
    for match in _DATE.finditer(line):
        value = " ".join(match[0].split())
        yield Marking(NAME, value, {"value": value}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="date",
    title="date, not a size",
    clean=clean,
)
find = NOTATION.find
