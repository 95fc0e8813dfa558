"""A reading as a card on the terminal. Texts from photos and file names are never markup."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice

from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from reader import report
from reader.records import Candidate, Evidence, Reading, Verdict
from reader.selection import plainest

_COLOURS = {
    Verdict.SURE: "green",
    Verdict.LIKELY: "yellow",
    Verdict.CANT_TELL: "magenta",
    Verdict.NONE: "red",
}
_SHOWN = 4  # candidates beside the best one; the rest is in --json
_PIECES = 6  # evidence lines per candidate
_WORTH_SHOWING = 0.005  # a candidate below this share only adds noise


def card(reading: Reading) -> RenderableType:
    """The answer for one part, framed in the colour of its verdict."""
    colour = _COLOURS[reading.verdict]
    title = Text(", ".join(reading.photos) or "photo", style="bold", overflow="ellipsis")
    body = Group(*_headline(reading, colour), _details(reading))
    return Panel(body, title=title, title_align="left", border_style=colour, padding=(0, 1))


def _headline(reading: Reading, colour: str) -> Iterator[Text]:
    best = reading.best
    settled = reading.verdict in (Verdict.SURE, Verdict.LIKELY)
    if best is None:
        yield Text("No size marking found", style=f"bold {colour}")
        return
    if settled:
        yield Text(f"{best.size}", style=f"bold {colour}").append(f"   {report.belief(reading)}")
        yield Text(measures(best), style="dim")
        for other in reading.candidates[1:]:
            if other.size == best.size and other.probability >= 0.02:  # the same numbers, read as…
                share = report.percent(other.probability)
                yield Text(f"or, {share}, {measures(other)}", style="dim")
    else:
        yield Text("The size is not settled", style=f"bold {colour}")
        share = report.percent(reading.size_probability)
        yield Text(f"it could be {best.size}, belief {share}, and that is not enough", style="dim")


def measures(candidate: Candidate) -> str:
    """What the two numbers of the size are, for the part at hand.

    >>> from reader.records import Size
    >>> measures(Candidate(Size(622, 19), "rim", 1.0))
    'rim: bead seat diameter 622 mm, inner width 19 mm'
    """
    kind = {"rim": "inner width", "tyre": "nominal width", "tube": "width"}
    part = "part unknown" if candidate.part == "unknown" else candidate.part
    words = f"{part}: bead seat diameter {candidate.size.bsd} mm"
    if candidate.size.width is None:
        return f"{words}, width not told"
    return f"{words}, {kind.get(candidate.part, 'width')} {candidate.size.width:g} mm"


def _details(reading: Reading) -> Table:
    """Label and text side by side; a label stands once, before its first line."""
    table = Table.grid(padding=(0, 2))
    table.add_column(style="bold", no_wrap=True)
    table.add_column(ratio=1)
    for label, lines in _sections(reading):
        for number, line in enumerate(lines):
            table.add_row(label if number == 0 else "", line)
    return table


def _sections(reading: Reading) -> Iterator[tuple[str, Iterable[Text]]]:
    best = reading.best
    if best is not None:
        yield "also called", [Text(", ".join(best.names))] if best.names else []
        several = len(reading.photos) > 1
        yield "because", [_piece(piece, several) for piece in _weightiest(best)]
        yield "or else", [_rival(other) for other in _rivals(reading)]
    else:
        yield "text seen", [Text(text) for text in _texts(reading)]
    yield "but", [Text(line, style="magenta") for line in reading.contradictions]
    yield "next", [Text(line, style="cyan") for line in reading.advice]
    yield "mind", [Text(line, style="dim") for line in reading.cautions]


def _weightiest(candidate: Candidate) -> list[Evidence]:
    return sorted(candidate.evidence, key=lambda piece: -abs(piece.weight))[:_PIECES]


def _piece(piece: Evidence, name_photo: bool) -> Text:
    sign = "+" if piece.weight > 0 else "−" if piece.weight < 0 else "·"
    line = Text(f"{sign} {piece.name}")
    if piece.detail:
        line.append(f": {piece.detail}")
    photo = piece.photo if name_photo else ""
    origin = ", ".join(part for part in (photo, piece.engine) if part)
    return line.append(f"  [{origin}]", style="dim") if origin else line


def _rivals(reading: Reading) -> list[Candidate]:
    others = reading.candidates[1:]
    return [one for one in others if one.probability >= _WORTH_SHOWING][:_SHOWN]


def _rival(candidate: Candidate) -> Text:
    names = f"  ({', '.join(candidate.names[:3])})" if candidate.names else ""
    part = "" if candidate.part == "unknown" else f" as a {candidate.part}"
    return Text(f"{candidate.size}{part}, {report.percent(candidate.probability)}{names}")


def _texts(reading: Reading) -> list[str]:
    """What was read although no size came of it, the cleanest of each place."""
    return [marking.text for marking in islice(plainest(reading.markings), _PIECES)]
