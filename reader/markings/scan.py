"""The order of search in one text: what is no size first, clean sizes, then damage in the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from reader.markings.edges import blank, mask
from reader.markings.letters import fold
from reader.records import Marking

Search = Callable[[str], Iterator[Marking]]

_TWO_DIGITS = re.compile(r"\d.*?\d|[½⅓⅔¼¾⅛⅜⅝⅞⁰¹²³⁴-⁹]", re.DOTALL)
LONGEST = 400  # characters; no line of a sidewall is longer, and no text may stall the search


def scan(
    text: str,
    decoys: Iterable[Search],
    sizes: Iterable[Search],
    damaged: Iterable[Search] = (),
) -> tuple[Marking, ...]:
    """All markings of a text, in order of place; spans count characters of `text`.

    Args:
        text: any text; only the first 400 characters are searched.
        decoys: searches for what is no size; sizes are not looked for inside their finds.
        sizes: searches for sizes as makers write them; their finds may overlap.
        damaged: searches for damaged sizes, in what the others left over.
    """
    text = text[:LONGEST]
    if not _TWO_DIGITS.search(text):
        return ()
    line, back = fold(text)
    line = mask(line)
    found = [marking for search in decoys for marking in search(line)]
    line = _hide(line, found)
    clean = [marking for search in sizes for marking in search(line)]
    found += clean
    rest = _hide(line, clean)
    if _TWO_DIGITS.search(rest):
        found += [marking for search in damaged for marking in search(rest)]
    if back is not None:
        found = [_restore(marking, back) for marking in found]
    if len(found) > 1:
        found.sort(key=lambda marking: (marking.span, marking.cost))
    return tuple(found)


def _hide(line: str, found: Iterable[Marking]) -> str:
    for marking in found:
        line = blank(line, *marking.span)
    return line


def _restore(marking: Marking, back: Sequence[int]) -> Marking:
    start, end = marking.span
    return replace(marking, span=(back[start], back[end - 1] + 1))
