"""The largest tyre that a frame, fork or mudguard takes with a stated gap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.estimate import Estimate
from reader.fit.grades import USABLE, Grade
from reader.fit.partners import tyres_for
from reader.fit.parts import Rim, RimKind
from reader.fit.wheel import GAP, MUDGUARD_GAP, clearance, envelope
from reader.records import Size
from reader.tables import Tables

OPENING_RANGE = (15.0, 200.0)  # mm between fork blades or stays
HEIGHT_RANGE = (100.0, 450.0)  # mm from the axle to what stands above the tyre


@dataclass(frozen=True)
class Opening:
    """A width that the tyre must pass, in mm, and the air that stays free on either side."""

    name: str  # 'fork', 'stays', 'mudguard'
    width: float
    gap: float

    def __post_init__(self) -> None:
        low, high = OPENING_RANGE
        if not low <= self.width <= high:
            raise InputError(
                f"an opening of {self.width:g} mm at the {self.name}",
                f"measure inside, where the tyre is widest: {low:g} to {high:g} mm",
            )
        if not 0 <= self.gap <= 30:
            raise InputError(f"a gap of {self.gap:g} mm", "give 0 to 30, for example 6")

    @property
    def free(self) -> float:
        """The width that a tyre may have here, mm."""
        return self.width - 2 * self.gap


@dataclass(frozen=True)
class Candidate:
    """A nominal tyre width: how wide it may really be, and its grade on the rim, if given."""

    size: Size
    width: Estimate
    grade: Grade | None


@dataclass(frozen=True)
class Room:
    """What goes through: `surely` by the upper end of the error bar, `perhaps` by the lower end.

    Both are the widest such tyres, or None where none goes; `tightest` is what decides the width.
    `height` is the room from the axle, mm, None where it was not given.
    """

    tightest: Opening
    surely: Candidate | None
    perhaps: Candidate | None
    candidates: tuple[Candidate, ...]  # every width that goes surely, ascending
    height: float | None
    gap: float


def openings(
    fork: float | None, stay: float | None, mudguard: float | None, gap: float = GAP
) -> tuple[Opening, ...]:
    """What was measured, each with its gap; a mudguard wants 5 mm on either side.

    Raises:
        InputError: nothing was measured, or no opening of a bicycle.
    """
    asked = (("fork", fork, gap), ("stays", stay, gap), ("mudguard", mudguard, MUDGUARD_GAP / 2))
    found = tuple(Opening(name, width, air) for name, width, air in asked if width is not None)
    if not found:
        raise InputError("nothing was measured", "give --fork, --stay or --mudguard, in mm")
    return found


def largest(
    passed: Sequence[Opening],
    tables: Tables,
    bsd: int,
    rim: Rim | None = None,
    height: float | None = None,
    gap: float = GAP,
) -> Room:
    """The widest tyre that keeps the gap in every opening, on a rim of that width if given.

    A tyre grows with its rim: the width is that on the rim, with its error bar, not the number on
    the sidewall. With a rim only tyres count that a table or maker does not bar there.

    Args:
        passed: the openings that the tyre must pass.
        tables: the sourced tables.
        bsd: bead seat diameter of the wheel, mm.
        rim: the rim, whose inner width lets the tyre grow.
        height: from the axle to crown, bridge or mudguard, mm; counts against ISO's envelope.
        gap: air above the tread, mm.

    Raises:
        InputError: a height that no bicycle has.

    >>> from reader.tables import load_tables
    >>> found = largest(openings(42, 40, None), load_tables(), 622, Rim(Size(622, 19)))
    >>> found.tightest.name, str(found.surely.size), str(found.perhaps.size)
    ('stays', '27-622', '30-622')
    """
    low, high = HEIGHT_RANGE
    if height is not None and not low <= height <= high:
        raise InputError(
            f"a height of {height:g} mm", f"measure from the axle: {low:g} to {high:g} mm"
        )
    tightest = min(passed, key=lambda one: one.free)
    grades = _grades(rim, tables) if rim is not None and rim.size.width else None
    sure, open_ = [], []
    for width in tables.tyre_widths_at(bsd):
        size = Size(bsd, width)
        if grades is not None and grades.get(width) is None:
            continue
        if height is not None and envelope(size) / 2 + gap > height:
            continue
        if rim is not None and rim.size.width and rim.size.width >= width:
            continue
        wide = clearance(size, rim.size.width if rim else None).width
        one = Candidate(size, wide, grades[width] if grades is not None else None)
        if wide.high <= tightest.free:
            sure.append(one)
        if wide.low <= tightest.free:
            open_.append(one)
    return Room(
        tightest,
        sure[-1] if sure else None,
        open_[-1] if open_ else None,
        tuple(sure),
        height,
        gap,
    )


def _grades(rim: Rim, tables: Tables) -> dict[float | None, Grade]:
    kind = rim.kind or RimKind.CROCHET
    known = Rim(rim.size, kind, rim.max_kpa, rim.tyre_range)
    return {
        line.size.width: line.fit.grade
        for line in tyres_for(known, tables)
        if line.fit.grade in USABLE
    }
