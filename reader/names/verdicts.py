"""How far a typed text's first meaning can be trusted, and what settles the rest."""

from __future__ import annotations

import math

from reader.fit.measure import FLANGES
from reader.names.meaning import Meaning
from reader.records import Verdict

SURE_SHARE = 0.95  # a pair that leaves the part open ('25-622') is not sure
LIKELY_SHARE = 0.8
WORTH_SETTLING = 0.02  # rarer meanings are listed, but no measurement is asked for them
SWAP_CAUTION = (
    "An inch or French text alone never settles a size: makers have printed the same text for "
    "sizes that do not interchange. It fits only if the ISO pair agrees."
)


def verdict(
    found: tuple[Meaning, ...], measured: bool, doubtful: bool, bare: bool = False
) -> Verdict:
    """The verdict on the first meaning.

    Args:
        found: meanings by falling share.
        measured: a bead seat diameter in millimetres stands in the text.
        doubtful: texts contradict each other, or something in the text was not understood.
        bare: only a nominal diameter was given; then nothing is likely unless it is alone.
    """
    top = found[0]
    labelled = all(one.part == "tube" for one in found)  # a tube's label lists sizes, all of them
    if doubtful or (top.share < LIKELY_SHARE and not labelled):
        return Verdict.CANT_TELL
    if bare and len({one.size.bsd for one in found}) > 1:
        return Verdict.CANT_TELL
    if measured and (top.share >= SURE_SHARE or labelled) and not top.from_memory:
        return Verdict.SURE
    return Verdict.LIKELY


def advice(found: tuple[Meaning, ...], measured: bool) -> tuple[str, ...]:
    """Which look, measurement or question settles it, best first."""
    steps = []
    bsds = [*dict.fromkeys(one.size.bsd for one in found if one.share >= WORTH_SETTLING)]
    if not measured:
        ends = " or ".join(str(bsd) for bsd in bsds[:4])
        steps.append(
            "Look for the ISO pair on the sidewall or rim: two numbers with a dash, ending in "
            f"{ends}."
        )
    if len(bsds) > 1 and found[0].part != "tube":
        steps.append(_tape(bsds[0], bsds[1]))
    if len({one.part for one in found}) > 1:
        steps.append("Say whether it stands on a tyre or on a rim: the width means another thing.")
    if found[0].from_memory:
        steps.append("The tables know this from memory only: confirm it by the ISO pair.")
    return tuple(steps)


def _tape(first: int, second: int) -> str:
    outer = [round(math.pi * (bsd + FLANGES[0])) for bsd in (first, second)]
    if abs(first - second) < 2 * FLANGES[1]:
        return (
            f"{first} and {second} lie too close for a tape over the rim's edge: read the mark, or "
            "ask the maker."
        )
    return (
        f"Or tape round the bare rim's outer edge: about {outer[0]} mm for {first}, about "
        f"{outer[1]} mm for {second} (edge height from memory, give or take 6 mm)."
    )
