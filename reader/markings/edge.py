"""How a rim's edge holds the bead: TC hooked tubeless, TSS hookless, told alone or in brackets.

Sources: '25x622mm, TSS' on a rim and ISO 5775-2's kinds as quoted by makers (sizes list, rims).
Beside the size itself the kind belongs to the rim's marking (see `rim`).

>>> [(m.text, m.numbers["value"]) for m in find("25x622mm, TSS")]
[('TSS', 'TSS')]
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from reader.markings.notation import Kind, Notation, Tells
from reader.records import Marking

NAME = "edge"
_MARK = re.compile(
    r"\(\s?(?:TSS|TC)\s?\)"
    r"|(?<![A-Z0-9])(?<!\d\s)TSS(?![A-Z0-9]|\s?\d)"
    r"|(?<=MM)[\s,]{1,2}TC(?![A-Z0-9])"
)


def clean(line: str) -> Iterator[Marking]:
    """Kinds of edge of a folded text."""
    for match in _MARK.finditer(line):
        kind = "TSS" if "TSS" in match[0] else "TC"
        yield Marking(NAME, kind, {"value": kind}, match.span())


NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="rim edge",
    title="rim edge",
    clean=clean,
    rim_text=2.5,  # judgement: tyres name rims' edges now and then
)
find = NOTATION.find
