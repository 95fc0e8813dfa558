"""Sheets of printed labels: where each label lies on the page, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reader.errors import InputError


@dataclass(frozen=True)
class Sheet:
    """A page of equal labels; all lengths in mm."""

    page: tuple[float, float]  # width, height
    label: tuple[float, float]
    columns: int
    rows: int
    margin: tuple[float, float]  # left, top
    gap: tuple[float, float] = (0.0, 0.0)  # between columns, between rows

    def __post_init__(self) -> None:
        for axis, count in enumerate((self.columns, self.rows)):
            if count < 1 or self.label[axis] < 15:
                remedy = "labels must be at least 15 mm wide and high, one or more a row"
                raise InputError("the label sheet makes no sense", remedy)
            used = self.margin[axis] + count * self.label[axis] + (count - 1) * self.gap[axis]
            if used > self.page[axis] + 0.5:
                side = ("wide", "high")[axis]
                message = f"the labels need {used:g} mm, the page is {self.page[axis]:g} mm {side}"
                raise InputError(message, "give the sizes that are printed on the label pack")

    @property
    def count(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    def places(self) -> Iterator[tuple[float, float]]:
        """Left and top of each label, mm, row by row."""
        for row in range(self.rows):
            for column in range(self.columns):
                x = self.margin[0] + column * (self.label[0] + self.gap[0])
                y = self.margin[1] + row * (self.label[1] + self.gap[1])
                yield x, y


A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)
# Common label stock, by the label's size; sizes and margins: common practice, no source.
STOCK = {
    "63.5x38.1": Sheet(A4, (63.5, 38.1), 3, 7, (7.25, 15.15), (2.5, 0)),
    "99.1x38.1": Sheet(A4, (99.1, 38.1), 2, 7, (4.65, 15.15), (2.5, 0)),
    "99.1x67.7": Sheet(A4, (99.1, 67.7), 2, 4, (4.65, 13.1), (2.5, 0)),
    "70x37": Sheet(A4, (70, 37), 3, 8, (0, 0.5)),
    "105x74": Sheet(A4, (105, 74), 2, 4, (0, 0.5)),
    "66.7x25.4": Sheet(LETTER, (66.675, 25.4), 3, 10, (4.76, 12.7), (3.175, 0)),
    # Rolls: each label is a page of its own.
    "62x29": Sheet((62, 29), (62, 29), 1, 1, (0, 0)),
    "90x29": Sheet((90, 29), (90, 29), 1, 1, (0, 0)),
    "57x32": Sheet((57, 32), (57, 32), 1, 1, (0, 0)),
    "101.6x50.8": Sheet(LETTER, (101.6, 50.8), 2, 5, (3.97, 12.7), (4.76, 0)),
}


def sheet_named(text: str) -> Sheet:
    """A sheet of the stock, by its label's size in mm.

    Raises:
        InputError: it is not among them.
    """
    name = text.lower().replace(" ", "").removesuffix("mm")
    if name not in STOCK:
        remedy = f"known are {', '.join(STOCK)} (mm), or give all measures of your own sheet"
        raise InputError(f"no label sheet {text!r}", remedy)
    return STOCK[name]
