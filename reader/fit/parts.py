"""The parts that fit asks about: a tyre, a rim, a tube, with what their markings say."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from reader.errors import InputError
from reader.records import Size

EXAMPLES = "write for example 47-507 or 28-622 for a tyre, 622x19C or 622x23TSS for a rim"
BSD_RANGE = (90, 800)  # mm: the smallest castor and the largest unicycle wheel, with some air
_RANGE = re.compile(
    r"\s*(\d{1,3}(?:[.,]\d)?)\s*(?:(?:-|\u2013|/|to|\.\.)\s*(\d{1,3}(?:[.,]\d)?))?\s*(?:mm)?\s*",
    re.IGNORECASE,
)
WIDTH_RANGE = (10.0, 135.0)  # mm: the narrowest rim and the widest fat tyre


class RimKind(StrEnum):
    """Shapes of a rim's edge; the codes are those of ISO 5775-2 (source W)."""

    UNKNOWN = ""
    CROCHET = "C"
    STRAIGHT = "SS"
    TUBELESS_CROCHET = "TC"
    HOOKLESS = "TSS"
    BEADED = "HB"
    TUBULAR = "TUBULAR"  # glued tyres; outside ISO 5775


class Edge(StrEnum):
    """What holds the tyre on the rim."""

    WIRED = "wired"
    BEADED = "beaded edge"
    TUBULAR = "tubular"


@dataclass(frozen=True)
class Tyre:
    """A tyre. `None` where the marking does not say; pressures in kPa.

    `rim_range` is what its maker allows as the rim's inner width, mm, from and to.
    """

    size: Size
    edge: Edge = Edge.WIRED
    tubeless: bool | None = None
    hookless: bool | None = None  # approved by its maker for hookless rims
    folding: bool | None = None
    min_kpa: float | None = None
    max_kpa: float | None = None
    rim_range: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        check(self.size)
        check_range(self.rim_range, "19-25")
        for kpa in (self.min_kpa, self.max_kpa):
            check_pressure(kpa)
        if self.min_kpa and self.max_kpa and self.min_kpa > self.max_kpa:
            raise InputError(
                f"the tyre's least pressure {self.min_kpa:g} kPa is above its greatest "
                f"{self.max_kpa:g} kPa",
                "read both again, for example 300 and 600 kPa",
            )


@dataclass(frozen=True)
class Rim:
    """A rim: `size.width` is its inner width in mm; `max_kpa` its own pressure limit, if marked.

    `tyre_range` is what its maker allows as the tyre's width, mm, from and to.
    """

    size: Size
    kind: RimKind = RimKind.UNKNOWN
    max_kpa: float | None = None
    tyre_range: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        check(self.size)
        check_pressure(self.max_kpa)
        check_range(self.tyre_range, "25-47")

    def __str__(self) -> str:
        width = "?" if self.size.width is None else format(self.size.width, "g")
        return f"{self.size.bsd}x{width}{self.kind}"


def check(size: Size) -> Size:
    """The size itself, if a bicycle part can have it.

    Raises:
        InputError: a diameter or width that no bicycle part has.

    >>> check(Size(622, 622))
    Traceback (most recent call last):
    reader.errors.InputError: width 622 mm is beyond any tyre or rim (10 to 135 mm): write ...
    """
    if not BSD_RANGE[0] <= size.bsd <= BSD_RANGE[1]:
        low, high = BSD_RANGE
        raise InputError(
            f"bead seat diameter {size.bsd:g} mm is beyond any bicycle ({low} to {high} mm)",
            EXAMPLES,
        )
    if size.width is not None and not WIDTH_RANGE[0] <= size.width <= WIDTH_RANGE[1]:
        least, most = WIDTH_RANGE
        raise InputError(
            f"width {size.width:g} mm is beyond any tyre or rim ({least:g} to {most:g} mm)",
            EXAMPLES,
        )
    return size


def check_range(given: tuple[float, float] | None, example: str) -> None:
    """Raise InputError for a range of widths that runs backwards or beyond any part."""
    if given is None:
        return
    low, high = given
    if not WIDTH_RANGE[0] <= low <= high <= WIDTH_RANGE[1]:
        raise InputError(
            f"{low:g} to {high:g} mm is no range of widths", f"write for example {example}"
        )


def parse_range(text: str, example: str = "25-47") -> tuple[float, float]:
    """A range of widths in mm as a maker prints it.

    Raises:
        InputError: not two numbers, or not widths of tyres or rims.

    >>> parse_range('25-47'), parse_range('19 to 25 mm'), parse_range('28')
    ((25.0, 47.0), (19.0, 25.0), (28.0, 28.0))
    """
    match = _RANGE.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no range of widths", f"write for example {example}")
    low = float(match[1].replace(",", "."))
    found = low, float(match[2].replace(",", ".")) if match[2] else low
    check_range(found, example)
    return found


def check_pressure(kpa: float | None) -> None:
    """Raise InputError for a pressure that no bicycle tyre has; `None` passes."""
    if kpa is not None and (not math.isfinite(kpa) or not 20 <= kpa <= 1600):
        raise InputError(
            f"a pressure of {kpa:g} kPa is beyond any bicycle tyre (20 to 1600 kPa)",
            "write for example '80 psi', '5.5 bar' or '550 kPa'",
        )
