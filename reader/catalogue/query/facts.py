"""What the catalogue knows of a part beside its size, as marks that fit can use."""

from __future__ import annotations

from dataclasses import replace

from reader.catalogue.columns import Part
from reader.fit.doubtful import rim_read, tyre_read
from reader.fit.parts import Rim, RimKind, Tyre
from reader.records import Candidate, Fact, Reading, Size, Verdict


def facts_of(part: Part) -> tuple[Fact, ...]:
    """Pressure, tubeless, hookless and edge of a part; what is not known is left out."""
    found = []
    ends = [
        f"{word} {kpa:g} kPa"
        for word, kpa in (("MIN", part.pressure_low), ("MAX", part.pressure_high))
        if kpa is not None
    ]
    if ends:
        value = part.pressure_high or part.pressure_low or 0.0
        found.append(Fact("pressure", value, " ".join(ends), 1.0))
    if part.tubeless:
        found.append(Fact("tubeless", part.tubeless == "yes", part.tubeless, 1.0))
    if part.hookless:
        said = "hookless" if part.hookless == "yes" else "no hookless"
        found.append(Fact("hookless", part.hookless == "yes", said, 1.0))
    if part.rim_kind:
        found.append(Fact("edge", part.rim_kind, part.rim_kind, 1.0))
    return tuple(found)


def tyre_of_part(part: Part, size: Size) -> Tyre:
    """The part as a tyre of this size, with all that is known of it."""
    return replace(tyre_read(_as_reading(part, size), size), rim_range=part.allows)


def rim_of_part(part: Part, size: Size) -> Rim:
    """The part as a rim of this size, with all that is known of it."""
    read = rim_read(_as_reading(part, size), size, RimKind(part.rim_kind))
    return replace(read, tyre_range=part.allows)


def _as_reading(part: Part, size: Size) -> Reading:
    only = Candidate(size, "unknown", part.probability)
    return Reading((only,), Verdict.NONE, facts=facts_of(part))
