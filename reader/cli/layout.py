"""How answers are laid out: one line first, at most five more, the rest under --why.

Lines are at most 80 columns wide and never break inside a size or between a number and its unit.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from reader.language import said
from reader.report import kept

WIDTH = 80
MORE = 5  # lines after the first one


@dataclass
class Laid:
    """An answer for the screen: `lines` by falling weight, `why` what only --why shows."""

    head: str
    lines: list[str] = field(default_factory=list)
    why: list[str] = field(default_factory=list)


def wrapped(text: str, indent: str = "  ", first: str | None = None) -> list[str]:
    """A text as lines of at most 80 columns; all but the first are indented twice.

    >>> wrapped("the tyre may be sold as 26 x 1 3/8 " * 3, indent="")[0]
    'the tyre may be sold as 26 x 1 3/8 the tyre may be sold as 26 x 1 3/8 the tyre'
    """
    start = indent if first is None else first
    lines = textwrap.wrap(
        kept(text),
        WIDTH,
        initial_indent=start,
        subsequent_indent=indent + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\u00a0", " ") for line in lines]


def shown(laid: Laid, why: bool) -> Iterator[str]:
    """The answer's lines; without `why` those that fit, and a hint where there is more."""
    head = wrapped(laid.head, indent="")
    yield from head
    parts = [wrapped(line) for line in laid.lines]
    if why:
        yield from (line for part in [*parts, *(wrapped(text) for text in laid.why)]
                    for line in part)  # fmt: skip
        return
    room, left = MORE + 1 - len(head), bool(laid.why)
    for number, part in enumerate(parts):
        last = number == len(parts) - 1 and not left
        if len(part) > room - (0 if last else 1):
            left = True
            break
        yield from part
        room -= len(part)
    if left:
        yield said("  more: --why")


def sources(keys: Iterable[str], titles: dict[str, str]) -> list[str]:
    """Titles of the sources behind an answer, each once, as lines of --why."""
    named = dict.fromkeys(key for joined in keys for key in joined.split(", "))
    told = [titles[key] for key in named if key in titles]
    return [said("rests on:"), *(f"- {title}" for title in told)] if told else []
