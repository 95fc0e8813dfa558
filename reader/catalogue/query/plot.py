"""The tally as a picture: one mark a piece, hollow where it is unsure; SVG and PNG."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from reader.catalogue.query.tally import Line, summed_up
from reader.errors import CatalogueError, InputError

INK, SURE, PAPER, GREY = "#1d1d1b", "#2f5d50", "#ffffff", "#6b6b66"
MOST = 25  # rows
MARK, STEP = 9.0, 24.0  # radius and distance of marks, pixels
A_SORT = 150  # marks of the longest row; with more pieces each mark stands for several
TEXT = 26.0  # size of letters, pixels
ROUND = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


@dataclass(frozen=True)
class Sheet:
    """What is drawn on; lengths in pixels."""

    wide: int
    left: float  # room for names
    a_row: int  # marks beside each other; more go on the next line
    top: float  # room for title and legend
    high_legend: bool  # one line below the other


WALL = Sheet(1400, 300.0, 30, 146.0, False)  # A4 across is filled by a printer without loss
PHONE = Sheet(680, 196.0, 11, 216.0, True)


@dataclass(frozen=True)
class Dot:
    """A mark: filled where the piece is certain."""

    x: float
    y: float
    filled: bool


@dataclass(frozen=True)
class Words:
    """A text; `anchor` is start or end, `y` its middle."""

    x: float
    y: float
    text: str
    size: float = TEXT
    anchor: str = "start"
    colour: str = INK


@dataclass(frozen=True)
class Drawing:
    """Everything to be drawn."""

    wide: int
    height: float
    items: tuple[Dot | Words, ...]


def plot_tally(lines: Sequence[Line], path: Path, title: str) -> None:
    """Draw a row a sort: a full mark for each certain piece, a hollow one for each probable one.

    Raises:
        InputError: nothing to draw, or a suffix other than .png and .svg.
        CatalogueError: the file can't be written.
    """
    suffix = path.suffix.lower()
    if suffix not in (".png", ".svg"):
        raise InputError(f"{path.name} is neither .png nor .svg", "name one of the two")
    if not lines:
        raise InputError("there is nothing to draw", "bring parts in first: tyremark bin FOLDER")
    made = drawing(lines, title)
    content = svg(made).encode() if suffix == ".svg" else png(made)
    try:
        path.write_bytes(content)
    except OSError as error:
        remedy = "choose another place with room that you may write"
        raise CatalogueError(f"{path} can't be written ({error.strerror})", remedy) from error


def drawing(
    lines: Sequence[Line],
    title: str,
    sheet: Sheet = WALL,
    say: Callable[[str], str] | None = None,
) -> Drawing:
    """Where everything stands; `say` puts a text into another language."""
    shown = summed_up(lines, MOST)
    most = max(max(line.certain, line.expected) for line in shown)
    each = next((one for one in ROUND if most / one <= A_SORT), ROUND[-1])
    items: list[Dot | Words] = [Words(sheet.left / 8, 42, title, 34), *_legend(each, sheet)]
    y = sheet.top
    for line in shown:
        items.append(Words(sheet.left - 24, y, line.name, anchor="end"))
        row, last = _row(line, y, each, sheet)
        items += row
        y = last + 2 * STEP
    if say is not None:
        items = [
            replace(one, text=say(one.text)) if isinstance(one, Words) else one for one in items
        ]
    return Drawing(sheet.wide, y, tuple(items))


def _legend(each: int, sheet: Sheet) -> Iterator[Dot | Words]:
    of = "a piece" if each == 1 else f"{each} pieces"
    high, left = sheet.high_legend, sheet.left / 8 + 10 if sheet.high_legend else sheet.left
    size = 24 if high else 20
    yield Dot(left, 84, True)
    yield Words(left + 18, 84, f"{of}, certain", size, colour=GREY)
    x, y = (left, 118) if high else (left + 260, 84)
    yield Dot(x, y, False)
    expected, behind = f"{of}, expected of unsure ones", "behind: expected (between, 95 of 100)"
    if high:
        yield Words(x + 18, y, expected, size, colour=GREY)
        yield Words(x + 18, y + 34, behind, size, colour=GREY)
    else:
        yield Words(x + 18, y, f"{expected}; {behind}", size, colour=GREY)


def _row(line: Line, y: float, each: int, sheet: Sheet) -> tuple[list[Dot | Words], float]:
    certain = min(round(line.certain / each), round(max(line.certain, line.expected) / each))
    marks = max(certain, round(line.expected / each))
    if not marks and line.expected:
        marks = 1
    left, a_row = sheet.left, sheet.a_row
    items: list[Dot | Words] = [
        Dot(left + STEP * (k % a_row), y + STEP * (k // a_row), k < certain) for k in range(marks)
    ]
    last = y + STEP * (max(0, marks - 1) // a_row)
    in_last = marks - a_row * (max(0, marks - 1) // a_row)
    exact = line.low == line.high
    number = f"{line.expected:g}" if line.expected % 1 < 1e-9 else f"{line.expected:.1f}"
    text = number if exact else f"{number} ({line.low} to {line.high})"
    items.append(Words(left + STEP * in_last, last, text, 22, colour=GREY))
    return items, last


def svg(made: Drawing, inline: bool = False) -> str:
    """As SVG, with the texts as texts; `inline`: within a page, as wide as there is room."""
    title = quoteattr(next((one.text for one in made.items if isinstance(one, Words)), ""))
    name = f'class="heap" role="img" aria-label={title}'
    size = name if inline else f'width="{made.wide}" height="{made.height:g}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} '
        f'viewBox="0 0 {made.wide} {made.height:g}" font-family="sans-serif">'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>'
    )
    return "".join((head, *map(_as_svg, made.items), "</svg>\n"))


def _as_svg(item: Dot | Words) -> str:
    if isinstance(item, Dot):
        fill = SURE if item.filled else PAPER
        return (
            f'<circle cx="{item.x:g}" cy="{item.y:g}" r="{MARK:g}" fill="{fill}" '
            f'stroke="{SURE}" stroke-width="2"/>'
        )
    return (
        f'<text x="{item.x:g}" y="{item.y:g}" font-size="{item.size:g}" fill="{item.colour}" '
        f'text-anchor="{item.anchor}" dominant-baseline="central">{escape(item.text)}</text>'
    )


def png(made: Drawing, scale: int = 2) -> bytes:
    """As PNG, drawn at twice the size and shrunk, so that edges are smooth."""
    from PIL import Image, ImageDraw, ImageFont

    size = (made.wide * scale, int(made.height) * scale)
    picture = Image.new("RGB", size, PAPER)
    draw: Any = ImageDraw.Draw(picture)
    for item in made.items:
        x, y = item.x * scale, item.y * scale
        if isinstance(item, Dot):
            r = MARK * scale
            fill = SURE if item.filled else PAPER
            draw.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=SURE, width=2 * scale)
        else:
            font = ImageFont.load_default(item.size * scale)
            anchor = "lm" if item.anchor == "start" else "rm"
            draw.text((x, y), item.text, fill=item.colour, font=font, anchor=anchor)
    out = BytesIO()
    picture.resize((made.wide, int(made.height)), Image.Resampling.LANCZOS).save(out, "PNG")
    return out.getvalue()
