"""Tubes: whether one suits a tyre by its label, and which label to look for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from reader.fit.parts import check
from reader.fit.tube_label import Tube, parse_tube
from reader.language import N_
from reader.records import Size
from reader.table_rows import TubeLabel
from reader.tables import Tables

__all__ = ["Suits", "Tube", "TubeVerdict", "labels_for", "look_for", "parse_tube", "suits"]


class Suits(StrEnum):
    """Whether a tube suits a tyre by its label."""

    YES = "suits"
    CANT_TELL = N_("can't tell")
    NO = N_("does not suit")


@dataclass(frozen=True)
class TubeVerdict:
    """Whether a tube suits a tyre, and why; `source` is a key of sources.csv."""

    grade: Suits
    reason: str
    source: str


# Tubes that go in either diameter, tyres never: three US shops and workshop notes (source BHG).
SHARED = (frozenset((622, 630)), frozenset((590, 597)))


def suits(tube: Tube, tyre: Size) -> TubeVerdict:
    """Whether the tube suits a tyre by its own label.

    >>> suits(parse_tube('37/57-559'), Size(559, 50)).grade.value
    'suits'
    """
    check(tyre)
    shared = any({tyre.bsd, bsd} == pair for bsd in tube.bsds for pair in SHARED)
    if tyre.bsd not in tube.bsds and not shared:
        listed = " and ".join(str(bsd) for bsd in tube.bsds)
        return TubeVerdict(
            Suits.NO,
            N_(
                f"the label lists {listed} mm, not {tyre.bsd} mm: too large a tube folds and "
                "chafes through, too small a one is stretched thin"
            ),
            "PRACTICE",
        )
    if tyre.width is None:
        return TubeVerdict(
            Suits.CANT_TELL, N_("the diameter is listed; read the tyre's width too"), "PRACTICE"
        )
    span = f"{tube.width_min:g} to {tube.width_max:g} mm"
    if tyre.width < tube.width_min:
        reason = N_(f"the tyre is narrower than {span}: the tube folds inside and chafes through")
        return TubeVerdict(Suits.NO, reason, "PRACTICE")
    if tyre.width > tube.width_max:
        reason = N_(
            f"the tyre is wider than {span}: the tube is stretched thin and punctures easily"
        )
        return TubeVerdict(Suits.NO, reason, "PRACTICE")
    if shared and tyre.bsd not in tube.bsds:
        listed = " and ".join(str(bsd) for bsd in tube.bsds)
        reason = N_(
            f"{tyre.width:g} mm lies in {span}; tubes for {listed} and {tyre.bsd} are shared, the "
            "tyres are not"
        )
        return TubeVerdict(Suits.YES, reason, "BHG")
    return TubeVerdict(Suits.YES, N_(f"{tyre.width:g} mm lies in {span}, diameter listed"), "LIST")


def labels_for(tyre: Size, tables: Tables) -> tuple[TubeLabel, ...]:
    """Labels of the table that suit a tyre, those read in a source first, narrow ranges first.

    >>> from reader.tables import load_tables
    >>> [label.text for label in labels_for(Size(559, 47), load_tables())]
    ['26x1.75/2.1', '26 x 1.75-2.4', '37/57-559', '40/62-559']
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
    width = N_("the tyre's width") if tyre.width is None else f"{tyre.width:g}"
    return N_(
        f"a label whose range holds {width} and that lists {tyre.bsd}; and a valve that fits the "
        "rim's hole"
    )
