"""Rows of names.csv: one name, one bead seat diameter that it can mean, and who says so."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reader.table_rows import Cells, inches

DOUBTS = ("", "local", "loose", "misprint")
ERAS = ("today", "still made", "old")
_INCH = re.compile(r"(\d{1,2}(?: 1/2|\.5)?) x (.+)")
_FRENCH = re.compile(r"(\d{3})(?: x (\d+))?([A-D]?)")
_CODE = re.compile(r"([A-Z][-.\dA-Z]*\d) \((\d+) x ([^)]+)\)")
_NOMINAL = re.compile(r"(\d+(?:\.5)?) inch")


@dataclass(frozen=True)
class Name:
    """One name and one bead seat diameter that it can mean.

    `diameter` and `height` as printed ('12 1/2', '700'); `widths` holds the printed width, in
    inches or mm, or `low`..`high` is a range of decimals; neither means any width. `mark` is the
    French letter, the trade code or the word. `tyre_mm` are the ISO widths printed beside it.
    """

    text: str
    notation: str  # that of its markings; 'code', 'word' and 'nominal' stand in no notation
    diameter: str
    bsd: int
    sources: tuple[str, ...]  # keys of sources.csv, each of which says so
    height: str = ""
    widths: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 999.0
    mark: str = ""
    tyre_mm: tuple[float, ...] = ()
    era: str = "today"
    origin: str = ""
    doubt: str = ""  # local: one market's habit; loose: a careless use; misprint: surely a slip
    home: str = ""  # a market where a local meaning rules
    note: str = ""


def make_name(cells: Cells) -> Name:
    """A line of names.csv.

    Raises:
        ValueError: the name is in no notation, or a cell holds what its column does not know.
    """
    if cells["doubt"] not in DOUBTS or cells["era"] not in ERAS:
        raise ValueError(f"'{cells['doubt']}' or '{cells['era']}' is not in the list")
    return Name(
        **_parts(cells["name"]),
        bsd=int(cells["bsd_mm"]),
        sources=tuple(cells["sources"].split(";")),
        tyre_mm=tuple(float(width) for width in cells["width_mm"].split("|") if width),
        era=cells["era"],
        origin=cells["origin"],
        doubt=cells["doubt"],
        home=cells["home"],
        note=cells["note"],
    )


def _parts(name: str) -> dict:
    """The parts of a name as it stands in the table.

    >>> parts = _parts("28 x 1 5/8 x 1 3/8")
    >>> parts["notation"], parts["height"], parts["widths"]
    ('inch_three', '1 5/8', ('1 3/8',))
    >>> _parts("650 x 35A")["mark"], _parts("24 x 1.0..4.8")["high"], _parts("29er")["notation"]
    ('A', 4.8, 'word')
    """
    made: dict = {"text": name, "diameter": ""}
    if match := _FRENCH.fullmatch(name):
        widths = (match[2],) if match[2] else ()
        made |= {"notation": "french", "diameter": match[1], "widths": widths, "mark": match[3]}
    elif match := _CODE.fullmatch(name):
        made |= {"notation": "code", "mark": match[1], "diameter": match[2], "widths": (match[3],)}
    elif match := _NOMINAL.fullmatch(name):
        made |= {"notation": "nominal", "diameter": match[1]}
    elif match := _INCH.fullmatch(name):
        made |= {"diameter": match[1]} | _inch(match[2].split(" x "))
    else:
        made |= {"notation": "word", "mark": name}
    return made


def _inch(widths: list[str]) -> dict:
    *heights, width = widths
    if heights:
        inches(heights[0]), inches(width)  # a ValueError here is the row's
        return {"notation": "inch_three", "height": heights[0], "widths": (width,)}
    if ".." in width:
        low, high = (float(end) for end in width.split(".."))
        return {"notation": "inch_decimal", "low": low, "high": high}
    inches(width)
    return {"notation": "inch_decimal" if "." in width else "inch_fraction", "widths": (width,)}
