"""The wheel on the road: outer diameter, circumference, clearance, swapped wheels, gears."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reader.errors import InputError
from reader.fit.estimate import Estimate, spread
from reader.fit.parts import check
from reader.fit.section import section_width
from reader.language import N_
from reader.records import Size
from reader.table_rows import Circumference
from reader.tables import Tables

RIDER_SHARE = 0.012  # the ridden wheel rolls about 1.2 % less far (source LOAD)
GAP = 6.0  # mm of air asked for around the tyre; from memory
MUDGUARD_GAP = 10.0  # mm; common practice, no source


def outer_diameter(size: Size) -> Estimate:
    """Outer diameter in mm of the unloaded tyre: BSD + 2 x width.

    The upper end is ISO's envelope for clearance, which is larger than real tyres: section height
    = width, and 2.5 mm more below 28 mm (source W).

    Raises:
        InputError: the width is not known or makes no sense.

    >>> str(outer_diameter(Size(622, 28)))
    '678 mm (658 to 698)'
    """
    width = _width(size)
    value = size.bsd + 2 * width
    share = list_spread(size.bsd)
    return Estimate(
        value,
        value * (1 - share),
        max(value * (1 + share), envelope(size)),
        "mm",
        N_("bead seat diameter + 2 x width"),
        "W, GEO",
    )


def envelope(size: Size) -> float:
    """Outer diameter in mm for which ISO wants room: section height = width, +2.5 below 28 mm.

    >>> envelope(Size(622, 25)), envelope(Size(622, 28))
    (677.0, 678.0)
    """
    width = _width(size)
    return size.bsd + 2 * (width + (2.5 if width < 28 else 0.0))


def list_spread(bsd: int) -> float:
    """How far published lists lie from the estimate and from each other, as a share.

    3 % from 559 mm up and 5 % below: what the lists in circumference.csv show.
    """
    return 0.03 if bsd >= 559 else 0.05


@dataclass(frozen=True)
class Rolling:
    """Circumference in mm: the estimate, what lists publish, and the range for a computer.

    `published` are lists, which do not say at what pressure or load; `measured` are roll-outs that
    do.
    """

    unloaded: Estimate
    ridden: Estimate
    published: tuple[Circumference, ...]
    measured: tuple[Circumference, ...]
    computer: Estimate

    @property
    def by_value(self) -> tuple[tuple[float, tuple[Circumference, ...]], ...]:
        """The published values, ascending, each with the lists that print it."""
        values = sorted({row.mm for row in self.published})
        return tuple((mm, tuple(r for r in self.published if r.mm == mm)) for mm in values)


def rolling(size: Size, tables: Tables) -> Rolling:
    """Circumference of a tyre in mm, for a cycle computer.

    `unloaded` is pi x (BSD + 2 x width). `computer` spans the published lists (plus or minus 1 %
    where there is one value only), else the estimates with and without a rider. Rolling one turn
    with the rider on and measuring beats every table.

    >>> from reader.tables import load_tables
    >>> found = rolling(Size(622, 35), load_tables())
    >>> [round(mm) for mm, _ in found.by_value], str(found.computer)
    ([2168, 2185], '2176 mm (2168 to 2185)')
    """
    width = _width(size)
    value = math.pi * (size.bsd + 2 * width)
    share = list_spread(size.bsd)
    unloaded = spread(value, share, "mm", N_("pi x (bead seat diameter + 2 x width)"), "GEO")
    ridden = spread(
        value * (1 - RIDER_SHARE),
        share,
        "mm",
        N_("the estimate less 1.2 % under a rider"),
        "GEO, LOAD",
    )
    rows = [row for row in tables.circumferences if (row.width, row.bsd) == (width, size.bsd)]
    lists = tuple(row for row in rows if not row.load)
    measured = tuple(row for row in rows if row.load)
    if lists:
        return Rolling(unloaded, ridden, lists, measured, _listed(lists))
    middle = (unloaded.value + ridden.value) / 2
    words = N_("between the estimates with and without a rider; no list has it")
    computer = Estimate(middle, ridden.low, unloaded.high, "mm", words, "GEO, LOAD")
    return Rolling(unloaded, ridden, (), measured, computer)


def _listed(rows: tuple[Circumference, ...]) -> Estimate:
    least, most = min(row.mm for row in rows), max(row.mm for row in rows)
    middle = (least + most) / 2
    source = ", ".join(dict.fromkeys(row.source for row in rows))
    if least < most:
        return Estimate(middle, least, most, "mm", N_("range of the published lists"), source)
    return spread(middle, 0.01, "mm", N_("one published value, give or take 1 %"), source)


@dataclass(frozen=True)
class Clearance:
    """Room in mm that frame, fork or mudguard must give; measured from the wheel's axle or middle.

    `radius` is from the axle to the tread, `width` across the tyre; the `needed_` ones include
    the gap.
    """

    radius: Estimate
    width: Estimate
    needed_radius: float
    needed_width: float
    mudguard_width: float


def clearance(size: Size, rim_inner: float | None = None) -> Clearance:
    """Room that a tyre needs, on a rim of this inner width (mm) if given.

    The radius counts as ISO's envelope (source W), the width as the upper end of its bar. Gaps:
    6 mm all round (from memory), a mudguard 10 mm wider on the whole (common practice, no source).

    >>> need = clearance(Size(622, 40))
    >>> round(need.needed_radius), round(need.needed_width)
    (357, 55)
    """
    width = _width(size)
    across = outer_diameter(size)
    radius = Estimate(
        across.value / 2, across.low / 2, across.high / 2, "mm", N_("half of it"), across.source
    )
    if rim_inner is None:
        wide = Estimate(
            width,
            width - 3,
            width + 3,
            "mm",
            N_("nominal width, real tyres differ by 3 mm"),
            "MEM",
            True,
        )
    else:
        wide = section_width(size, rim_inner)
    return Clearance(
        radius, wide, envelope(size) / 2 + GAP, wide.high + 2 * GAP, wide.value + MUDGUARD_GAP
    )


@dataclass(frozen=True)
class Swap:
    """What changes when one wheel replaces another; shares as fractions of the old value.

    `old` and `new` are the circumferences that the figures rest on, both got in the same way.
    """

    old: Estimate
    new: Estimate
    distance_share: float  # change of way per turn, of gear, and of what the computer shows
    radius_mm: float  # change of the axle's height
    words: str


def swap(old: Size, new: Size, tables: Tables) -> Swap:
    """The effect of swapping wheels or tyres on gear, computer and the axle's height.

    Both circumferences come from published lists, or, where one is in no list, from the formula:
    a list against the formula would show a change that is none.

    >>> from reader.tables import load_tables
    >>> found = swap(Size(622, 28), Size(584, 47), load_tables())
    >>> round(found.old.value), round(found.new.value), round(100 * found.distance_share, 1)
    (2130, 2130, 0.0)
    """
    turns = rolling(old, tables), rolling(new, tables)
    if all(turn.published for turn in turns):
        before, after = turns[0].computer, turns[1].computer
    else:
        before, after = turns[0].unloaded, turns[1].unloaded
    share = after.value / before.value - 1
    rise = (after.value - before.value) / (2 * math.pi)
    gear = "harder" if share > 0 else "easier"
    words = (
        N_("every gear stays as it was")
        if abs(share) < 0.005
        else N_(
            f"every gear is about {abs(100 * share):.1f} % {gear}, and a computer set for the old "
            f"wheel shows {abs(100 * share):.1f} % too {'little' if share > 0 else 'much'}"
        )
    )
    return Swap(before, after, share, rise, words)


def development(size: Size, chainring: int, sprocket: int, tables: Tables) -> Estimate:
    """Metres per turn of the cranks: circumference x chainring / sprocket.

    Raises:
        InputError: a count of teeth that no bicycle has.

    >>> from reader.tables import load_tables
    >>> str(development(Size(622, 28), 46, 18, load_tables()))
    '5.4 m (5.4 to 5.5)'
    """
    for teeth in (chainring, sprocket):
        if not 7 <= teeth <= 80:
            raise InputError(f"{teeth} teeth", "give 7 to 80, for example 46 and 18")
    turn = rolling(size, tables).computer
    metres = chainring / sprocket / 1000
    return Estimate(
        turn.value * metres,
        turn.low * metres,
        turn.high * metres,
        "m",
        N_("circumference x chainring / sprocket"),
        turn.source,
    )


def _width(size: Size) -> float:
    check(size)
    if size.width is None:
        raise InputError("the tyre's width is not known", "write for example 28-622")
    return size.width
