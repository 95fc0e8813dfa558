"""Small parts of the rim: tape and valve hole. All of it common practice or from memory."""

from __future__ import annotations

from dataclasses import dataclass

from reader.fit.estimate import Estimate
from reader.fit.parts import Rim
from reader.language import N_

VALVES = (  # key, name, stem and rim hole in mm (stems read: TDO, XJD, WNL; holes from memory)
    ("presta", N_("Presta (narrow)"), 6.0, 6.5),
    ("schrader", N_("Schrader (car type)"), 8.0, 8.5),
    ("dunlop", N_("Dunlop or Woods"), 8.0, 8.5),
)
VALVE_SLACK = 0.3  # mm, error of a calliper in a drilled hole; from memory


@dataclass(frozen=True)
class ValveFit:
    """Whether a valve goes through a hole; `words` says what else to mind."""

    valve: str
    goes: bool
    words: str
    key: str = ""  # 'presta', 'schrader', 'dunlop'


def rim_tape(rim: Rim, tubeless: bool = False) -> Estimate | None:
    """Width of rim tape in mm, `None` where the rim's inner width is not known.

    With a tube the tape covers the spoke holes and lies flat in the bed: about the inner width.
    Tubeless tape climbs both bead seats: 2 to 5 mm more. Common practice, no source.

    >>> from reader.records import Size
    >>> str(rim_tape(Rim(Size(622, 19))))
    '19.0 mm (17.0 to 20.0)'
    """
    inner = rim.size.width
    if inner is None:
        return None
    if tubeless:
        return Estimate(
            inner + 3, inner + 2, inner + 5, "mm", N_("inner width + 3"), "PRACTICE", True
        )
    return Estimate(inner, inner - 2, inner + 1, "mm", N_("inner width"), "PRACTICE", True)


def valves_for(hole_mm: float) -> tuple[ValveFit, ...]:
    """Which valves go through a rim's hole of this diameter in mm (from memory).

    >>> [one.goes for one in valves_for(6.5)]
    [True, False, False]
    """
    return tuple(
        ValveFit(name, hole_mm + VALVE_SLACK >= hole, _words(name, hole_mm, hole), key)
        for key, name, _, hole in VALVES
    )


def _words(name: str, hole: float, wanted: float) -> str:
    if hole + VALVE_SLACK < wanted:
        return N_(f"{name} wants {wanted:g} mm; never drill a rim without its maker's word")
    if hole > wanted + 1:
        return N_(f"{name} sits loose in {hole:g} mm: use a sleeve, or the edge cuts the stem")
    return N_(f"{name} goes through {hole:g} mm")
