"""What to do next, and what to beware of: short sentences for the bench."""

from __future__ import annotations

from collections.abc import Sequence

from reader.language import N_
from reader.markings import SIZES
from reader.records import Candidate, Marking, PartKind, Size, Verdict
from reader.resolve.calibration import Features
from reader.tables import Tables

PLAUSIBLE = 0.05  # rivals below this share are not worth a question
LISTED = 0.015  # for names, where the tables list what else is meant
SETTLED, SURELY = 0.95, 0.99  # probability of a diameter that is told though the width is open

WHERE = {
    "tyre": N_("on the sidewall, two numbers with a dash such as 37-622"),
    "rim": N_("on the rim between the spokes or inside its walls, such as 622x19C or 19-622"),
    "tube": N_("on the tube or its box, such as 28/47-622"),
    "unknown": N_("two numbers such as 37-622 on a tyre, 622x19C on a rim"),
}

LIMITS = N_(
    "A size is no proof of fit: keep to the makers' limits, to the lower of the tyre's and the "
    "rim's maximum pressure and to local rules; in doubt ask a qualified mechanic."
)
NAMES_SHARED = N_(
    "Inch and French names are shared by sizes that do not interchange: the bead seat diameter "
    "must match exactly."
)
FROM_MEMORY = N_("No source was read for this size's entry: check it against the maker's data.")
BEADED = N_("Beaded-edge tyres and rims go only with each other, never with wired-edge ones.")
CUT = N_("The marking runs up to the photo's edge: photograph it whole.")
COVERED = N_("Something lies across the marking: turn the wheel, or photograph it from the side.")
CLEAR_CUT = 3.5  # cost up to which a marking at the edge, which has paid for that, is worth telling


def nothing_found(part: PartKind, markings: Sequence[Marking]) -> tuple[str, ...]:
    """Advice where no size was named, whatever markings were read."""
    cut = any(m.cut and m.cost <= CLEAR_CUT and m.notation in SIZES for m in markings)
    return (
        *([CUT] if cut else []),
        N_(f"Photograph the size marking close and square on, lit from the side: {WHERE[part]}."),
    )


def advise(
    verdict: Verdict,
    candidates: Sequence[Candidate],
    seen: Features,
    part: PartKind,
    seat: float,
) -> tuple[str, ...]:
    """Which photo or measurement would settle it.

    Args:
        verdict: on the best candidate.
        candidates: by falling probability.
        seen: what the verdict rests on.
        part: what the reading makes of the photo.
        seat: probability of the best candidate's bead seat diameter, whatever the width.
    """
    out: list[str] = []
    best = candidates[0]
    if seen.contradiction:
        out.append(N_("Two markings disagree: photograph each one alone and close."))
    if seen.cut:
        out.append(CUT)
    if seen.doubt == "covered":
        out.append(COVERED)
    if verdict is not Verdict.SURE:
        out += _settle(verdict, candidates, seen, seat)
    if part == "unknown" and _either_part(candidates, best.size):
        width = f"{best.size.width:g}"
        out.append(
            N_(
                f"Say whether it is a tyre or a rim: on a tyre {width} mm is the tyre's width, on "
                "a rim the inner width."
            )
        )
    return tuple(out)


def _settle(
    verdict: Verdict, candidates: Sequence[Candidate], seen: Features, seat: float
) -> list[str]:
    if seen.kind == "tube" and verdict is Verdict.LIKELY:
        return []
    best = candidates[0].size
    floor = LISTED if seen.kind == "name" and verdict is Verdict.CANT_TELL else PLAUSIBLE
    rivals = [c.size for c in candidates if c.probability >= floor]
    bsds = sorted({size.bsd for size in rivals})
    widths = sorted({s.width for s in rivals if s.width is not None and s.bsd == best.bsd})
    open_width = len(widths) > 1 and seen.kind != "name"
    if seat >= SETTLED and open_width and verdict is Verdict.CANT_TELL:
        width = _either(widths)
        if seat >= SURELY:
            return [
                N_(
                    f"The bead seat diameter is {best.bsd}; is the width {width}? "
                    "Photograph the number before the dash closer, or measure the width."
                )
            ]
        return [
            N_(
                f"The bead seat diameter is very likely {best.bsd}; is the width {width}? "
                "Photograph the number before the dash closer, or measure the width."
            )
        ]
    if len(bsds) > 1:
        return [
            N_(
                f"Is it {_either(bsds)}? Photograph the ISO pair (two numbers with a dash), "
                "perhaps on the other side, or measure the rim's bead seat."
            )
        ]
    if seen.kind != "pair":
        return [
            N_(
                "For certainty photograph the ISO pair (two numbers with a dash), perhaps on the "
                "other side."
            )
        ]
    return [N_("Photograph the marking closer, or the one on the other side, to confirm it.")]


def _either(numbers: Sequence[float]) -> str:
    texts = [f"{number:g}" for number in numbers]
    return " or ".join([", ".join(texts[:-1]), texts[-1]])


def _either_part(candidates: Sequence[Candidate], size: Size) -> bool:
    # rarer ones are not asked about
    parts = {c.part for c in candidates if c.size == size and c.probability >= 0.02}
    return {"tyre", "rim"} <= parts


def cautions(best: Candidate, seen: Features, tables: Tables) -> tuple[str, ...]:
    """What to beware of with this answer; the limits always come first."""
    out = [LIMITS]
    if seen.kind == "name":
        out.append(NAMES_SHARED)
    if seen.memory:
        out.append(FROM_MEMORY)
    seat = tables.seat.get(best.size.bsd)
    if seat is not None and seat.kind == "beaded":
        out.append(BEADED)
    return tuple(out)
