"""Tubes: what a label says, whether a tube suits a tyre, and which label to look for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from reader.errors import InputError
from reader.fit.parts import check
from reader.records import Size
from reader.table_rows import TubeLabel
from reader.tables import Tables

EXAMPLE = "write for example 37/57-559 or 28/47-622/635"
_RANGE = re.compile(
    r"\s*(\d{2,3})(?:\s*/\s*(\d{2,3}))?\s*[-\u2013]\s*(\d{3})(?:\s*/\s*(\d{3}))?\s*"
)
_FRENCH = re.compile(
    r"\s*700\s*[xX]\s*(\d{2})\s*[cC]?\s*(?:to|-|/)\s*(?:700\s*[xX]\s*)?(\d{2})\s*[cC]?\s*"
)


class Suits(StrEnum):
    """Whether a tube suits a tyre by its label."""

    YES = "suits"
    CANT_TELL = "can't tell"
    NO = "does not suit"


@dataclass(frozen=True)
class Tube:
    """A tube: tyre widths in mm that it suits and the bead seat diameters that it lists."""

    width_min: float
    width_max: float
    bsds: tuple[int, ...]


@dataclass(frozen=True)
class TubeVerdict:
    """Whether a tube suits a tyre, and why; `source` is a key of sources.csv."""

    grade: Suits
    reason: str
    source: str


def parse_tube(text: str) -> Tube:
    """A tube from its label.

    Raises:
        InputError: no range label, or numbers that no tube has.

    >>> parse_tube('37/57-559')
    Tube(width_min=37.0, width_max=57.0, bsds=(559,))
    >>> parse_tube('700x18 to 700x25').bsds
    (622,)
    """
    french = _FRENCH.fullmatch(text)
    match = french or _RANGE.fullmatch(text)
    if not match:
        raise InputError(f"'{text}' is no tube label", EXAMPLE)
    low, high = float(match[1]), float(match[2] or match[1])
    if low > high:
        raise InputError(f"'{text}' has the wider width first", EXAMPLE)
    bsds = (622,) if french else tuple(int(bsd) for bsd in match.groups()[2:] if bsd)
    for bsd in bsds:
        check(Size(bsd, low))
        check(Size(bsd, high))
    return Tube(low, high, bsds)


def suits(tube: Tube, tyre: Size) -> TubeVerdict:
    """Whether the tube suits a tyre by its own label.

    >>> suits(parse_tube('37/57-559'), Size(559, 50)).grade.value
    'suits'
    """
    check(tyre)
    if tyre.bsd not in tube.bsds:
        listed = " and ".join(str(bsd) for bsd in tube.bsds)
        return TubeVerdict(
            Suits.NO,
            f"the label lists {listed} mm, not {tyre.bsd} mm: too large a tube folds and chafes "
            "through, too small a one is stretched thin",
            "PRACTICE",
        )
    if tyre.width is None:
        return TubeVerdict(
            Suits.CANT_TELL, "the diameter is listed; read the tyre's width too", "PRACTICE"
        )
    span = f"{tube.width_min:g} to {tube.width_max:g} mm"
    if tyre.width < tube.width_min:
        reason = f"the tyre is narrower than {span}: the tube folds inside and chafes through"
        return TubeVerdict(Suits.NO, reason, "PRACTICE")
    if tyre.width > tube.width_max:
        reason = f"the tyre is wider than {span}: the tube is stretched thin and punctures easily"
        return TubeVerdict(Suits.NO, reason, "PRACTICE")
    return TubeVerdict(Suits.YES, f"{tyre.width:g} mm lies in {span}, diameter listed", "LIST")


def labels_for(tyre: Size, tables: Tables) -> tuple[TubeLabel, ...]:
    """Labels of the table that suit a tyre, those read in a source first, narrow ranges first.

    >>> from reader.tables import load_tables
    >>> [label.text for label in labels_for(Size(559, 47), load_tables())]
    ['37/57-559']
    """
    found = [
        label
        for label in tables.tube_labels
        if suits(Tube(label.width_min, label.width_max, label.bsds), tyre).grade is Suits.YES
    ]
    return tuple(
        sorted(found, key=lambda label: (label.from_memory, label.width_max - label.width_min))
    )


def look_for(tyre: Size) -> str:
    """What a suitable label must say, in words."""
    width = "the tyre's width" if tyre.width is None else f"{tyre.width:g}"
    return (
        f"a label whose range holds {width} and that lists {tyre.bsd}; and a valve that fits the "
        "rim's hole"
    )
