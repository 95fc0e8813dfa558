"""Every column of a part, once: tables, lists, forms and searches are made from `Part`.

To add one: a field here, and a migration that makes it (see `db/schema.py`).
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Annotated, Any, get_args, get_type_hints

from reader.catalogue.about import About, Column
from reader.fit.parts import RimKind
from reader.records import Size, Verdict

KINDS = ("tyre", "rim", "tube", "unknown")
STATES = ("open", "accepted", "corrected", "again", "doubted", "foreign")
SETTLED = ("accepted", "corrected")
CONDITIONS = ("good", "usable", "to look at", "reject")
KEPT_BACK = ("to look at", "reject")  # offered to nobody who does not ask for them
REASONS = (
    "cracks", "cuts", "cords showing", "tread gone", "bead bent", "bead broken",
    "rim wall worn", "dented", "cracked at holes", "patched",
)  # fmt: skip
YES_NO = ("yes", "no")
VERDICTS = tuple(one.value for one in Verdict)
MOST_PIECES = 1_000_000


@dataclass(frozen=True)
class Part:
    """A part as it counts now."""

    code: Annotated[str, About("the part's code; empty in a list to be brought in: a new part")]
    source: Annotated[str | None, About("the photos it came from", inner=True, new=None)]
    kind: Annotated[str, About("tyre, rim, tube or unknown", choices=KINDS, new="unknown")]
    bsd: Annotated[
        int | None,
        About("bead seat diameter in mm; empty if not known", listed="bsd_mm", new=None),
    ]
    width: Annotated[
        float | None,
        About(
            "nominal width, of a rim its inner width, in mm; empty if not known",
            listed="width_mm",
            new=None,
        ),
    ]
    probability: Annotated[
        float, About("that the size is right, 0 to 1; empty means 1", high=1, new=0.0)
    ]
    verdict: Annotated[
        str,
        About(
            "sure, likely, can't tell or none; what the newest reading said",
            choices=VERDICTS,
            new="none",
        ),
    ]
    state: Annotated[
        str,
        About(
            "open, accepted, corrected, again, doubted or foreign; empty means corrected",
            choices=STATES,
            new="open",
        ),
    ]
    rim_kind: Annotated[
        str,
        About(
            "edge of a rim: C, SS, TSS, TC, HB, TUBULAR or empty",
            choices=tuple(one.value for one in RimKind if one),
            told=True,
        ),
    ]
    tube_label: Annotated[str, About("what a tube suits, as 37/57-559", told=True)]
    bin: Annotated[str, About("where it lies", told=True, free=True)]
    shelf: Annotated[str, About("where in the bin", told=True, free=True)]
    condition: Annotated[
        str, About("good, usable, to look at, reject or empty", choices=CONDITIONS, told=True)
    ]
    quantity: Annotated[int, About("pieces; empty means 1", high=MOST_PIECES, told=True, new=1)]
    note: Annotated[str, About("free text", told=True, free=True)]
    arrived: Annotated[str, About("date, as 2026-05-31; empty means today")]
    gain: Annotated[float, About("what a look would settle", inner=True, new=0.0)]
    skips: Annotated[int, About("how often it was left for later", inner=True, new=0)]
    depot: Annotated[str, About("which depot it belongs to", told=True, free=True)]
    reasons: Annotated[
        str,
        About(
            f"why it is in this condition: {', '.join(REASONS)}",
            choices=REASONS,
            several=True,
            told=True,
        ),
    ]
    made: Annotated[
        str, About("when it was made: a year, 2019, or a week, 2019-W23", told=True, fact=True)
    ]
    holes: Annotated[
        int | None,
        About("spoke holes of a rim", low=8, high=144, told=True, fact=True, new=None),
    ]
    erd: Annotated[
        float | None,
        About(
            "effective rim diameter for spokes, in mm",
            listed="erd_mm",
            low=150,
            high=750,
            told=True,
            fact=True,
            new=None,
        ),
    ]
    valve_hole: Annotated[
        float | None,
        About(
            "a rim's valve hole in mm",
            listed="valve_hole_mm",
            low=5,
            high=10,
            told=True,
            fact=True,
            new=None,
        ),
    ]
    brake: Annotated[
        str, About("what a rim is braked by", choices=("rim", "disc"), told=True, fact=True)
    ]
    tubeless: Annotated[
        str, About("whether it may run without tube", choices=YES_NO, told=True, fact=True)
    ]
    hookless: Annotated[
        str,
        About(
            "a rim: whether it has no hooks; a tyre: whether it may go on such a rim",
            choices=YES_NO,
            told=True,
            fact=True,
        ),
    ]
    direction: Annotated[
        str, About("whether a tyre turns one way only", choices=YES_NO, told=True, fact=True)
    ]
    e_bike: Annotated[
        str, About("whether it is marked for e-bikes", choices=YES_NO, told=True, fact=True)
    ]
    pressure_low: Annotated[
        float | None,
        About(
            "least pressure in kPa",
            listed="pressure_low_kpa",
            low=20,
            high=2000,
            told=True,
            fact=True,
            new=None,
        ),
    ]
    pressure_high: Annotated[
        float | None,
        About(
            "greatest pressure in kPa",
            listed="pressure_high_kpa",
            low=20,
            high=2000,
            told=True,
            fact=True,
            new=None,
        ),
    ]
    load: Annotated[
        float | None,
        About(
            "greatest load in kg",
            listed="load_kg",
            low=10,
            high=500,
            told=True,
            fact=True,
            new=None,
        ),
    ]
    threads: Annotated[
        int | None,
        About("threads an inch of a tyre", low=10, high=400, told=True, fact=True, new=None),
    ]
    wear_mark: Annotated[
        str, About("whether it has a mark that shows wear", choices=YES_NO, told=True, fact=True)
    ]
    allows_from: Annotated[
        float | None,
        About(
            "least width in mm that its maker allows: of tyres on a rim, of rims under a tyre",
            listed="allows_from_mm",
            low=10,
            high=135,
            told=True,
            new=None,
        ),
    ]
    allows_to: Annotated[
        float | None,
        About(
            "greatest width in mm that its maker allows; overrules every table",
            listed="allows_to_mm",
            low=10,
            high=135,
            told=True,
            new=None,
        ),
    ]
    bsd_verdict: Annotated[
        str,
        About(
            "how sure the diameter alone is, in the words of `verdict`; empty: as the size",
            choices=VERDICTS,
            new="none",
        ),
    ]
    bsd_probability: Annotated[
        float,
        About(
            "that the diameter is right, whatever the width; empty: as the size", high=1, new=0.0
        ),
    ]
    width_verdict: Annotated[
        str,
        About(
            "how sure the width alone is; never more than can't tell by a size's name",
            choices=VERDICTS,
            new="none",
        ),
    ]

    @property
    def size(self) -> Size | None:
        """The size that counts, if any."""
        return None if self.bsd is None else Size(self.bsd, self.width)

    @property
    def width_open(self) -> bool:
        """Whether the diameter is sure, but no width is told."""
        told = self.width is not None and self.width_verdict in ("sure", "likely")
        return self.bsd is not None and self.bsd_verdict == "sure" and not told

    @property
    def told_size(self) -> Size | None:
        """The size, without its width where that is open."""
        return self.size if self.bsd is None or not self.width_open else Size(self.bsd)

    @property
    def settled(self) -> bool:
        """Whether a person has confirmed it."""
        return self.state in SETTLED

    @property
    def allows(self) -> tuple[float, float] | None:
        """The range in mm that its maker allows, where both ends are known and make sense."""
        low, high = self.allows_from, self.allows_to
        return (low, high) if low is not None and high is not None and low <= high else None

    @property
    def kept_back(self) -> bool:
        """Whether it is offered to nobody who does not ask for such parts."""
        return self.condition in KEPT_BACK or self.state == "foreign"


def _column(name: str, hint: Any) -> Column:
    declared, about = get_args(hint)
    options = get_args(declared) or (declared,)
    plain = next(one for one in options if one is not types.NoneType)
    return Column(name, plain, types.NoneType in options, about)


_HINTS = get_type_hints(Part, include_extras=True)
COLUMNS: Mapping[str, Column] = {
    one.name: _column(one.name, _HINTS[one.name]) for one in fields(Part)
}
TOLD = tuple(column for column in COLUMNS.values() if column.about.told)
FACTS = tuple(column for column in COLUMNS.values() if column.about.fact)
LISTED: Mapping[str, Column] = {
    column.listed: column for column in COLUMNS.values() if not column.about.inner
}


def new_part(**known: Any) -> dict[str, Any]:
    """Values of all columns for a new part, as far as they are known; `code` must be."""
    empty = {name: column.about.new for name, column in COLUMNS.items()}
    return {**empty, **known}
