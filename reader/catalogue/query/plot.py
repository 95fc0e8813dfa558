"""The tally as a picture: one mark a piece, hollow where it is unsure; SVG and PNG."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from reader.catalogue.query.tally import Line, summed_up
from reader.errors import CatalogueError, InputError

INK, SURE, PAPER, GREY = "#1d1d1b", "#2f5d50", "#ffffff", "#6b6b66"
MOST = 25  # rows
WIDE = 1400  # pixels, at which A4 across is filled by a printer without loss
MARK, STEP = 9.0, 24.0  # radius and distance of marks, pixels
A_ROW = 30  # marks beside each other; more go on the next line
A_SORT = 150  # marks of the longest row; with more pieces each mark stands for several
LEFT, TOP, TEXT = 300.0, 146.0, 26.0  # pixels: room for names and for the title; size of letters
ROUND = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


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


def drawing(lines: Sequence[Line], title: str) -> Drawing:
    """Where everything stands."""
    shown = summed_up(lines, MOST)
    most = max(max(line.certain, line.expected) for line in shown)
    each = next((one for one in ROUND if most / one <= A_SORT), ROUND[-1])
    items: list[Dot | Words] = [Words(40, 42, title, 34), *_legend(each)]
    y = TOP
    for line in shown:
        items.append(Words(LEFT - 24, y, line.name, anchor="end"))
        row, last = _row(line, y, each)
        items += row
        y = last + 2 * STEP
    return Drawing(y, tuple(items))


def _legend(each: int) -> Iterator[Dot | Words]:
    of = "a piece" if each == 1 else f"{each} pieces"
    yield Dot(LEFT, 84, True)
    yield Words(LEFT + 18, 84, f"{of}, certain", 20, colour=GREY)
    yield Dot(LEFT + 260, 84, False)
    text = f"{of}, expected of unsure ones; behind: expected (between, 95 of 100)"
    yield Words(LEFT + 278, 84, text, 20, colour=GREY)


def _row(line: Line, y: float, each: int) -> tuple[list[Dot | Words], float]:
    certain = min(round(line.certain / each), round(max(line.certain, line.expected) / each))
    marks = max(certain, round(line.expected / each))
    if not marks and line.expected:
        marks = 1
    items: list[Dot | Words] = [
        Dot(LEFT + STEP * (k % A_ROW), y + STEP * (k // A_ROW), k < certain) for k in range(marks)
    ]
    last = y + STEP * (max(0, marks - 1) // A_ROW)
    in_last = marks - A_ROW * (max(0, marks - 1) // A_ROW)
    exact = line.low == line.high
    number = f"{line.expected:g}" if line.expected % 1 < 1e-9 else f"{line.expected:.1f}"
    text = number if exact else f"{number} ({line.low} to {line.high})"
    items.append(Words(LEFT + STEP * in_last, last, text, 22, colour=GREY))
    return items, last


def svg(made: Drawing) -> str:
    """As SVG, with the texts as texts."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}" height="{made.height:g}" '
        f'viewBox="0 0 {WIDE} {made.height:g}" font-family="sans-serif">'
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

    size = (WIDE * scale, int(made.height) * scale)
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
    picture.resize((WIDE, int(made.height)), Image.Resampling.LANCZOS).save(out, "PNG")
    return out.getvalue()
