"""Tyre on wheel in one shot: are the two right for each other, as far as both are seen?

A rim's own way to write its size (622x19C) never stands on a tyre, so a photo that holds it beside
a pair such as 28-622 shows both parts. Each is weighed alone, by its own markings; what can't be
told apart, such as 19-622, which both carry, counts for neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reader.fit.doubtful import ReadFit, fit_reading
from reader.language import N_
from reader.records import Marking, PartKind, Reading, Verdict
from reader.resolve.resolve import resolve
from reader.resolve.rivals import gather
from reader.tables import Tables, load_tables

RIM, TYRE = "rim", "iso_pair"  # notations
ONE_PICTURE = N_("Seen in one picture: be sure that one stands on the tyre, the other on the rim.")
NEXT: dict[str, str] = {
    "tyre": N_("Only the rim's marking was seen: photograph the tyre's, such as 28-622, too."),
    "rim": N_("Only the tyre's marking was seen: photograph the rim's, such as 622x19C, too."),
    "both": N_("Neither marking was seen: photograph each one close, the tyre's and the rim's."),
}


@dataclass(frozen=True)
class Mounted:
    """What one look at a wheel told: each part's own reading, or None where it was not seen."""

    tyre: Reading | None
    rim: Reading | None
    fit: ReadFit | None

    @property
    def missing(self) -> str:
        """'tyre', 'rim' or 'both' where that marking was not seen; else ''."""
        unseen = [name for name in ("tyre", "rim") if getattr(self, name) is None]
        return "both" if len(unseen) == 2 else "".join(unseen)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer, each sentence by itself; never surer than both readings."""
        if self.fit is None or self.tyre is None or self.rim is None:
            return (NEXT[self.missing],)
        told = str(self.fit.grade.value)
        if self.fit.grade is not self.fit.if_right:
            told = N_(f"if both are read rightly: {self.fit.if_right.value}")
        reasons = self.fit.outcomes[0][0].reasons[:1] if self.fit.outcomes else ()
        head = N_(f"{self.tyre.told_size} / {self.rim.told_size}: {told}")
        return head, *reasons, ONE_PICTURE


def mounted(reading: Reading, market: str = "world", tables: Tables | None = None) -> Mounted:
    """Take tyre and rim apart in what was read of one wheel.

    Args:
        reading: of one photo or several of the same wheel; its markings count, not its answer.
    """
    tables = tables or load_tables()
    places = gather(reading.markings)
    rims = [one for place in places if place.best.notation == RIM for one in _all(place.looks)]
    tyres = [one for place in places if place.best.notation == TYRE for one in _all(place.looks)]
    rim = _told(rims, "rim", market, tables)
    tyre = _told(tyres, "tyre", market, tables)
    if tyre is not None and rim is not None and _alike(tyre, rim):
        tyre = None  # the rim's size in both ways to write it, not a tyre's
    fit = fit_reading(tyre, rim, tables) if tyre is not None and rim is not None else None
    return Mounted(tyre, rim, fit)


def as_dict(found: Mounted) -> dict[str, Any]:
    """The answer as JSON-ready data, in English."""
    told = found.fit
    return {
        "tyre": found.tyre and found.tyre.told_size,
        "rim": found.rim and found.rim.told_size,
        "grade": None if told is None else told.grade.value,
        "if_right": None if told is None else told.if_right.value,
        "chance": None if told is None else round(told.chance, 6),
        "missing": found.missing,
        "words": list(found.sentences),
    }


def _all(looks: Sequence[Any]) -> list[Marking]:
    return [marking for look in looks for marking in look.markings]


def _told(
    markings: Sequence[Marking], part: PartKind, market: str, tables: Tables
) -> Reading | None:
    """The part's own reading; None where no diameter can be told."""
    if not markings:
        return None
    reading = resolve(markings, part, tables, market)
    told = reading.diameter.verdict in (Verdict.SURE, Verdict.LIKELY)
    return reading if told and reading.told_size else None


def _alike(tyre: Reading, rim: Reading) -> bool:
    """Whether both say the same two numbers, or a tyre that is narrower than its rim."""
    if tyre.diameter.value != rim.diameter.value:
        return False
    wide, inner = tyre.width.value, rim.width.value
    return wide is None or inner is None or wide <= inner
