"""The order of search in one text: what is no size first, clean sizes, then damage in the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from reader.markings.edges import attached, blank, mask
from reader.markings.letters import SPACE_ADDED
from reader.records import Marking
from reader.text.normalise import fold

Search = Callable[[str], Iterator[Marking]]

_TWO_DIGITS = re.compile(r"\d.*?\d|[½⅓⅔¼¾⅛⅜⅝⅞⁰¹²³⁴-⁹]", re.DOTALL)
# a word with a digit, or letters that touch a marking and are no unit: 622X19Q
_LEFT_OVER = re.compile(
    r"[^\s#]*[0-9][^\s#]*|(?<=#)(?!(?:MM|IN|INCH)\b)[A-Z]+|[A-Z]+(?=#)", re.ASCII
)
_NOT_GAP = re.compile(r"\S|\s(?=\s)")  # of several spaces one stays
SPREAD = 0.85  # share of single letters among the words
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
    numbered = _TWO_DIGITS.search(text) is not None
    if not numbered and not decoys:
        return ()
    line, back = fold(text)
    spread = _is_spread(line)
    if spread:
        line, back = _close_up(line, back)
    if numbered:
        found = _search(mask(line), decoys, sizes, damaged)
    else:  # only words can tell something
        found = [marking for search in decoys for marking in search(line)]
    if back is not None:
        found = [_restore(one, back, SPACE_ADDED if spread else 0.0) for one in found]
    if len(found) > 1:
        found = _cheapest(found)
        found.sort(key=lambda marking: (marking.span, marking.cost))
    return tuple(found)


def unexplained(text: str, spans: Iterable[tuple[int, int]]) -> tuple[str, ...]:
    """What lies in none of the spans and may matter: words with a digit, letters that touch one.

    Numbers of something else (a phone, an article) are left out.

    >>> unexplained("37-590 ART. NO. 4711 X9", [(0, 6)])
    ('X9',)
    >>> unexplained("622X19Q", [(0, 6)])
    ('Q',)
    """
    for start, end in spans:
        text = blank(text, start, end)
    rest = "".join(char.upper() if char.isascii() else char for char in text)
    return tuple(_LEFT_OVER.findall(mask(rest)))


def _cheapest(found: list[Marking]) -> list[Marking]:
    """One marking for each meaning at a place: the same one can be damage of several kinds."""
    kept: list[Marking] = []
    for one in sorted(found, key=lambda marking: marking.cost):
        if not any(
            (one.notation, one.numbers) == (other.notation, other.numbers)
            and one.span[0] < other.span[1]
            and other.span[0] < one.span[1]
            for other in kept
        ):
            kept.append(one)
    return kept


def _search(
    line: str, decoys: Iterable[Search], sizes: Iterable[Search], damaged: Iterable[Search]
) -> list[Marking]:
    found = [marking for search in decoys for marking in search(line)]
    line = _hide(line, found)
    clean = [marking for search in sizes for marking in search(line)]
    # What may be one digit short is searched again as damaged.
    rest = _hide(line, [marking for marking in clean if not attached(line, *marking.span)])
    found += clean
    if _TWO_DIGITS.search(rest):
        found += [marking for search in damaged for marking in search(rest)]
    return found


def _is_spread(line: str) -> bool:
    """Whether an engine took the gaps between letters for spaces: 4 7 - 5 0 7."""
    if line.count(" ") * 5 < len(line) * 2:  # quick: spread letters have a blank for each
        return False
    words = line.split()
    # three or four may be X, C and a number
    return len(words) > 4 and sum(len(word) == 1 for word in words) >= SPREAD * len(words)


def _close_up(line: str, back: Sequence[int] | None) -> tuple[str, Sequence[int]]:
    kept = [m.start() for m in _NOT_GAP.finditer(line)]
    back = range(len(line) + 1) if back is None else back
    return "".join(line[i] for i in kept), [back[i] for i in (*kept, len(line))]


def _hide(line: str, found: Iterable[Marking]) -> str:
    for marking in found:
        line = blank(line, *marking.span)
    return line


def _restore(marking: Marking, back: Sequence[int], extra: float) -> Marking:
    start, end = marking.span
    span = back[start], back[end - 1] + 1
    return replace(marking, span=span, cost=marking.cost + extra)
