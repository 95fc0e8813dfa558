"""How far a typed text's first meaning can be trusted, and what settles the rest."""

from __future__ import annotations

import math
from enum import StrEnum

from reader.fit.measure import FLANGES
from reader.language import N_
from reader.names.meaning import Meaning
from reader.records import Verdict

SURE_SHARE = 0.95  # a pair that leaves the part open ('25-622') is not sure
LIKELY_SHARE = 0.8
WORTH_SETTLING = 0.02  # rarer meanings are listed, but no measurement is asked for them
SWAP_CAUTION = N_(
    "An inch or French text alone never settles a size: makers have printed the same text for "
    "sizes that do not interchange."
)


class Trust(StrEnum):
    """How far the first meaning of a typed text can be trusted, best first."""

    SURE = "sure"
    LIKELY = "likely"
    POSSIBLE = "possible"  # no published table says so
    CANT_TELL = N_("can't tell")

    @property
    def told(self) -> Verdict:
        """The same as the verdict on a reading; what is merely possible settles nothing."""
        return Verdict.CANT_TELL if self is Trust.POSSIBLE else Verdict(self.value)


def verdict(found: tuple[Meaning, ...], measured: bool, doubtful: bool) -> Trust:
    """The verdict on the first meaning.

    Args:
        found: meanings by falling share.
        measured: a bead seat diameter in millimetres stands in the text.
        doubtful: texts contradict each other, or something in the text was not understood.
    """
    top = found[0]
    if doubtful:
        return Trust.CANT_TELL
    if all(one.part == "tube" for one in found):  # its label lists sizes, and suits all of them
        return Trust.LIKELY if top.from_memory else Trust.SURE
    alone = len({one.size.bsd for one in found}) == 1
    if top.from_memory and alone:
        return Trust.POSSIBLE
    if top.share < LIKELY_SHARE or top.from_memory:
        return Trust.CANT_TELL
    return Trust.SURE if measured and top.share >= SURE_SHARE else Trust.LIKELY


def advice(found: tuple[Meaning, ...], measured: bool) -> tuple[str, ...]:
    """Which look, measurement or question settles it, best first."""
    steps = []
    bsds = [*dict.fromkeys(one.size.bsd for one in found if one.share >= WORTH_SETTLING)]
    if not measured:
        ends = " or ".join(f"…-{bsd}" for bsd in bsds[:3])
        steps.append(N_(f"It fits only if the ISO pair agrees: look for {ends}."))
    if len(bsds) > 1 and found[0].part != "tube":
        steps.append(_tape(bsds[0], bsds[1]))
    if len({one.part for one in found}) > 1:
        steps.append(
            N_("Say whether it stands on a tyre or on a rim: the width means another thing.")
        )
    if found[0].from_memory:
        steps.append(N_("The tables know this from memory only: confirm it by the ISO pair."))
    return tuple(steps)


def _tape(first: int, second: int) -> str:
    outer = [round(math.pi * (bsd + FLANGES[0])) for bsd in (first, second)]
    if abs(first - second) < 2 * FLANGES[1]:
        return N_(
            f"{first} and {second} lie too close for a tape over the rim's edge: read the mark, or "
            "ask the maker."
        )
    return N_(
        f"Or tape round the bare rim's outer edge: about {outer[0]} mm for {first}, about "
        f"{outer[1]} mm for {second} (edge height from memory, give or take 6 mm)."
    )
