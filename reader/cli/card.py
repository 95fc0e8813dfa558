"""A reading as a card on the terminal. Texts from photos and file names are never markup."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import islice

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from reader import report, summary
from reader.language import N_, number, said, words
from reader.photo.files import printable
from reader.records import Candidate, Reading, Verdict
from reader.selection import plainest

COLOURS = {
    Verdict.SURE: "green",
    Verdict.LIKELY: "yellow",
    Verdict.CANT_TELL: "magenta",
    Verdict.NONE: "red",
}
WIDE = 80  # columns of a card
LABELS = (
    N_("read"), N_("also"), N_("says"), N_("but"), N_("next"), N_("mind"),
    N_("why"), N_("then"), N_("or"), N_("seen"),
)  # fmt: skip
NEXT_LINES = 2
_RIVALS = 4  # candidates beside the best one that `--all` shows
_MARKINGS = 20  # that `--all` shows; the rest is in --json --all
_LEAST = 0.005  # a candidate below this share only adds noise


def card(reading: Reading, why: bool = False, everything: bool = False) -> RenderableType:
    """The answer for one part: at most eight lines of 80 columns.

    Args:
        reading: as the pipeline gave it.
        why: adds the evidence, the weightiest first.
        everything: adds that, all cautions, the other candidates and the markings.
    """
    colour = COLOURS[best_verdict(reading)]
    name = ", ".join(printable(name) for name in reading.photos) or said("photo")
    lines = [Text(f"── {_cut(name, WIDE - 4)} ".ljust(WIDE, "─"), style=colour)]
    lines += _size_lines(reading, colour)
    lines += _labelled("read", summary.read_line(reading))
    lines += _labelled("also", ", ".join(summary.other_names(reading)))
    lines += _labelled("says", summary.facts_line(reading))
    doubt = reading.contradictions[:1]
    lines += _labelled("but", doubt[0] if doubt else "", "magenta")
    room = 8 - len(lines) - 1
    lines += _labelled("next", _step(reading), "cyan", min(NEXT_LINES, max(room, 1)))
    lines += _labelled("mind", summary.caution(reading), "dim")
    if why or everything:
        lines += _why(reading)
    if everything:
        lines += _everything(reading)
    return Group(*lines)


def best_verdict(reading: Reading) -> Verdict:
    """The verdict that colours an answer: on the diameter, as it decides what fits."""
    if reading.diameter.value is None:
        return reading.verdict
    return reading.diameter.verdict


def table(readings: Sequence[Reading], failed: Sequence[str]) -> RenderableType:
    """All answers at a glance, one line a part, and how many of each kind."""
    grid = Table.grid(padding=(0, 2))
    for _ in range(3):
        grid.add_column(no_wrap=True, overflow="ellipsis")
    for reading in readings:
        verdict = best_verdict(reading)
        size = reading.told_size or "-"
        name = Text(_cut(", ".join(printable(name) for name in reading.photos), WIDE - 30))
        grid.add_row(name, size, Text(said(verdict), style=COLOURS[verdict]))
    for file in failed:
        grid.add_row(Text(_cut(printable(file), WIDE - 30)), "-", Text(said("failed"), style="red"))
    return Group(grid, Text(totals(readings, failed)))


def totals(readings: Sequence[Reading], failed: Sequence[str]) -> str:
    """How many diameters are sure, likely, open, or not marked, and how many photos failed.

    A part that is no bicycle's counts as such: it has no size that could be found.
    """
    others = [one for one in readings if one.kind.value == "other" and one.kind.told]
    verdicts = [best_verdict(one) for one in readings if one not in others]
    sure, likely, open_ones, none = (verdicts.count(one) for one in Verdict)
    if others:
        return said(
            f"{sure} sure, {likely} likely, {open_ones} can't tell, {none} no size found, "
            f"{len(others)} no bicycle's, {len(failed)} failed (by diameter)"
        )
    return said(
        f"{sure} sure, {likely} likely, {open_ones} can't tell, {none} no size found, "
        f"{len(failed)} failed (by diameter)"
    )


def _size_lines(reading: Reading, colour: str) -> list[Text]:
    size = reading.told_size
    line = Text(f"{size}  " if size else "", style=f"bold {colour}")
    line.append(summary.size_line(reading), style="not bold" if size else f"bold {colour}")
    line.truncate(WIDE, overflow="ellipsis")
    return [line]


def _labelled(label: str, text: str, style: str = "", most: int = 1) -> list[Text]:
    """A text beside its label, on so many lines at most; none without a text."""
    if not text:
        return []
    room = 1 + max(6, *(len(one) for one in words(*LABELS)))  # columns for the words at the left
    wrapped = textwrap.wrap(said(text), WIDE - room, max_lines=most, placeholder=" …")
    return [
        Text(f"{said(label) if k == 0 else '':{room}}", style="bold").append(line, style=style)
        for k, line in enumerate(wrapped)
    ]


def _step(reading: Reading) -> str:
    step = reading.advice[0] if reading.advice else ""
    return "" if step == summary.size_line(reading) else step


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"…{text[1 - most :]}"


def _why(reading: Reading) -> Iterator[Text]:
    lines = summary.reasons(reading.best) if reading.best is not None else []
    for place, line in enumerate(lines):
        yield from _labelled("why" if place == 0 else "", line, most=3)


def _everything(reading: Reading) -> Iterator[Text]:
    for place, line in enumerate(reading.advice[1:]):
        yield from _labelled("then" if place == 0 else "", line, "cyan", 4)
    for place, line in enumerate(reading.cautions):
        yield from _labelled("mind" if place == 0 else "", line, "dim", 4)
    for place, other in enumerate(_rivals(reading)):
        yield from _labelled("or" if place == 0 else "", _rival(other))
    marks = islice(plainest(reading.markings), _MARKINGS)
    for place, marking in enumerate(marks):
        where = summary.whereabouts(marking)
        how = said(marking.notation.replace("_", " "))
        text = f"'{marking.text}' ({how}), {said('cost')} {number(marking.cost, 1)}"
        yield from _labelled("seen" if place == 0 else "", f"{text}, {where}" if where else text)


def _rivals(reading: Reading) -> list[Candidate]:
    return [one for one in reading.candidates[1:] if one.probability >= _LEAST][:_RIVALS]


def _rival(candidate: Candidate) -> str:
    part = "" if candidate.part == "unknown" else f" ({said(candidate.part)})"
    return f"{candidate.size}{part}, {said(report.percent(candidate.probability))}"
