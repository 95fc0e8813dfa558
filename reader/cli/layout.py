"""How answers are laid out: one line first, at most five more, the rest under --why.

Lines are at most 80 columns wide and never break inside a size or between a number and its unit.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

WIDTH = 80
MORE = 5  # lines after the first one
_KEPT = re.compile(  # spaces that must not become line ends: 26 x 1 3/8, 28 mm, 5.0 bar, ISO 5775-1
    r"(?<=\d) (?=x\b)|(?<=\bx) (?=\d)|(?<=\d) (?=\d+/\d)|"
    r"(?<=\d) (?=(?:mm|cm|m|bar|psi|kPa|kg/cm2|inch|in|%)\b)|(?<=\d) (?=%)|(?<=ISO) (?=\d)"
)


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
    kept = _KEPT.sub("\u00a0", text)
    start = indent if first is None else first
    lines = textwrap.wrap(
        kept,
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
        yield "  more: --why"


def runs(values: Iterable[float], among: Iterable[float]) -> str:
    """Values as runs of neighbours among all that there are.

    >>> runs([25, 26, 28, 40], [25, 26, 27, 28, 40, 42])
    '25 to 26, 28, 40'
    """
    order = sorted(set(among))
    chosen = set(values)
    groups: list[list[float]] = []
    previous = None
    for value in order:
        if value in chosen:
            if previous is not None:
                groups[-1].append(value)
            else:
                groups.append([value])
        previous = value if value in chosen else None
    return ", ".join(
        f"{one[0]:g}" if len(one) == 1 else f"{one[0]:g} to {one[-1]:g}" for one in groups
    )


def sources(keys: Iterable[str], titles: dict[str, str]) -> list[str]:
    """Titles of the sources behind an answer, each once, as lines of --why."""
    named = dict.fromkeys(key for joined in keys for key in joined.split(", "))
    told = [titles[key] for key in named if key in titles]
    return ["rests on:", *(f"- {title}" for title in told)] if told else []
