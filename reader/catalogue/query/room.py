"""Tyres in the bins that a frame takes: wide enough to use, with the gaps asked for left free."""

from __future__ import annotations

from reader.catalogue.columns import Part
from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.search import search
from reader.fit.room import Room


def tyres_through(catalogue: Catalogue, room: Room, limit: int = 50) -> tuple[list[Part], int]:
    """Tyres that surely keep the gap and were read surely, widest first; and how many were not.

    Args:
        catalogue: which.
        room: what the frame lets through.
        limit: at most so many.
    """
    if room.surely is None:
        return [], 0
    widths = {one.size.width for one in room.candidates}
    found = search(
        catalogue,
        kind="tyre",
        bsd=room.surely.size.bsd,
        width=(min(width or 0.0 for width in widths), room.surely.size.width or 0.0),
        limit=1000,
    )
    fitting = [part for part in found if part.width in widths and not part.kept_back]
    sure = [part for part in fitting if part.settled or part.verdict == "sure"]
    sure.sort(key=lambda part: (-(part.width or 0.0), part.bin, part.shelf, part.code))
    return sure[:limit], len(fitting) - len(sure)
