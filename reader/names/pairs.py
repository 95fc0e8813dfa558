"""What a pair of numbers can mean: '47-507', '25-622' (tyre or rim), '622x19C', a tube's label."""

from __future__ import annotations

from functools import lru_cache

from reader.language import N_
from reader.names.meaning import Meaning, Standing
from reader.records import PartKind, Size
from reader.tables import BeadSeat, Tables

UNLISTED = 0.0005  # weight of a width that no list holds
TYRE_FIRST = 0.9  # how often a pair with a dash stands on a tyre; common practice, no source
RIM_MARK_ON_TYRE = 0.002  # how often the rim's way of writing stands on a tyre


@lru_cache(maxsize=65536)
def pair_meanings(
    width: float, bsd: int, order: str, tables: Tables, market: str, edge: str = ""
) -> tuple[Meaning, ...]:
    """Tyre and rim meanings of a pair; `order` is 'pair' (width first) or 'rim' (a rim's mark).

    `edge` is what a rim's mark says of its edge: C, SS, TC, TSS, HB.
    """
    seat = tables.seat.get(bsd)
    if seat is None:
        return ()
    tables.prior(bsd, market)  # an unknown market is an error here as elsewhere
    scores: dict[PartKind, float] = {}
    tyre_first = TYRE_FIRST if order == "pair" else RIM_MARK_ON_TYRE
    if _is_plausible("tyre width", width, tables):
        scores["tyre"] = tyre_first * tables.width_weight.get(("tyre", width), UNLISTED)
    listed = width in tables.rim_widths_at(bsd)
    if _is_plausible("rim width", width, tables) and (listed or order == "rim" or not scores):
        scores["rim"] = (1 - tyre_first) * tables.width_weight.get(("rim", width), UNLISTED)
    total = sum(scores.values())
    # rarer ones are not told
    kept = {part: score for part, score in scores.items() if score / total >= 0.005}
    total = sum(kept.values())
    made = [
        Meaning(
            Size(bsd, width),
            part,
            score / total,
            _why(bsd, width, part, seat.kind == "beaded"),
            seat.source,
            standing(seat),
            edge if part == "rim" else "",
        )
        for part, score in kept.items()
    ]
    return tuple(sorted(made, key=lambda one: -one.share))


def _why(bsd: int, width: float, part: PartKind, beaded: bool) -> str:
    extra = f"; {N_('beaded-edge rims only')}" if beaded else ""
    if part == "tyre":
        what = N_(f"{width:g} mm is the nominal tyre width")
    else:
        what = N_(f"{width:g} mm is the inner rim width")
    return f"{N_(f'the pair names bead seat diameter {bsd} mm')}; {what}{extra}"


def _is_plausible(what: str, width: float, tables: Tables) -> bool:
    low, high = tables.plausible[what]
    return low <= width <= high


@lru_cache(maxsize=4096)
def tube_meanings(bsd: int, bsd2: int, tables: Tables, market: str) -> tuple[Meaning, ...]:
    """One meaning per bead seat diameter that a tube's label lists, equal shares."""
    known = [tables.seat[one] for one in dict.fromkeys((bsd, bsd2)) if one in tables.seat]
    tables.prior(bsd, market)
    return tuple(
        Meaning(
            Size(seat.bsd),
            "tube",
            1 / len(known),
            N_(f"the tube's label lists bead seat diameter {seat.bsd} mm"),
            seat.source,
            standing(seat),
        )
        for seat in known
    )


def standing(seat: BeadSeat) -> Standing:
    """What a text with this diameter in millimetres rests on."""
    return Standing.MEMORY if seat.from_memory else Standing.MEASURED
