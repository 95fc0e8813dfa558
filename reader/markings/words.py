"""Notations that are words, with a number or without: built from patterns, one line each."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from reader.markings.scan import Search
from reader.records import Marking
from reader.text.confusables import ALIKE, wordlike

Value = float | str
Meant = tuple[str, Value]  # words as printed, and what they say


def search(name: str, meant: Iterable[Meant], behind: str = r"(?![A-Z0-9])") -> Search:
    """A search for words; a sign that only looks like the right one costs.

    Args:
        name: of the notation.
        meant: words and their value, longer ones first; `Marking.numbers['value']` is that value.
        behind: regular expression of what must follow.
    """
    table = [
        (re.compile(rf"(?<![A-Z0-9]){wordlike(words)}{behind}"), words, value)
        for words, value in meant
    ]

    def clean(line: str) -> Iterator[Marking]:
        taken: list[tuple[int, int]] = []
        for pattern, words, value in table:
            for match in pattern.finditer(line):
                start, end = match.span()
                if any(start < stop and begin < end for begin, stop in taken):
                    continue
                taken.append((start, end))
                cost = ALIKE * _differing(match[0], words)
                yield Marking(name, words, {"value": value}, (start, end), cost)

    return clean


def _differing(seen: str, words: str) -> int:
    """How many signs of the words were seen as others; lost spaces don't count."""
    plain = [re.sub(r"[\s-]", "", text) for text in (seen, words)]
    return sum(one != other for one, other in zip(*plain, strict=False))


def together(*searches: Callable[[str], Iterator[Marking]]) -> Search:
    """Several searches as one."""

    def clean(line: str) -> Iterator[Marking]:
        for one in searches:
            yield from one(line)

    return clean
