"""The words of a slip: headings with their sentences, in the order that a counter needs."""

from __future__ import annotations

from collections.abc import Iterator

from reader.catalogue.columns import Part
from reader.catalogue.db.codes import pretty
from reader.catalogue.query.slip import Never, Slip
from reader.fit.partners import runs
from reader.fit.pressure import at_least, at_most

NAMES = 14  # of a size, on a slip


def sections(slip: Slip) -> Iterator[tuple[str, list[str]]]:
    """Headings, each with its sentences."""
    if slip.settle:
        yield "Not settled", [slip.settle]
    if slip.fit is not None:
        yield "Do they go together", [slip.fit.grade.value.upper(), *slip.fit.reasons[:2],
                                      *(f"check: {one}" for one in slip.fit.checks)]  # fmt: skip
    names = ", ".join(slip.names[:NAMES])
    more = f" and {len(slip.names) - NAMES} rarer names" if len(slip.names) > NAMES else ""
    yield "Sold as", [names + more or "no name is known; ask for the ISO size"]
    if slip.goes:
        head = "Tyre widths, mm" if slip.part != "tyre" else "Rims: inner widths, mm (crochet)"
        lines = [f"{grade.value}: {runs(widths, slip.widths)}" for grade, widths in slip.goes]
        for low, high, below, above in slip.holes:
            gap = f"{low:g}" if low == high else f"{low:g} to {high:g}"
            lines.append(f"in no table: {gap}, though {below:g} and {above:g} are")
        yield head, lines
    yield "Tube and valve", _tube_lines(slip)
    yield "Pressure", _pressure_lines(slip)
    if slip.there or slip.tubes_there or slip.unsure:
        yield "In the bins", _bin_lines(slip)
    if slip.never:
        yield "Never, though it sounds alike", [_never_line(one) for one in slip.never]
    yield "Mind", list(slip.cautions)


def _tube_lines(slip: Slip) -> list[str]:
    labels = ", ".join(label.text for label in slip.tubes)
    lines = [f"labels such as {labels}" if labels else "no label is known for this diameter"]
    lines.append(f"a label must list {slip.size.bsd}; its range must hold the tyre's width")
    return [*lines, f"{slip.valves} (from memory: measure the hole)"]


def _pressure_lines(slip: Slip) -> list[str]:
    low, high = slip.pressure.low, slip.pressure.high
    lines = ["the lower of what tyre and rim say"]
    if high is not None:
        lines.append(f"here at most {at_most(high.kpa)} ({high.by})")
    if low is not None:
        lines.append(f"at least {at_least(low.kpa)} ({low.by})")
    return lines


def _bin_lines(slip: Slip) -> list[str]:
    lines = [f"{_piece(one.part)}: {one.fit.grade.value}" for one in slip.there]
    lines += [f"{_piece(one.part)}: {one.verdict.grade.value}" for one in slip.tubes_there]
    if slip.unsure:
        lines.append(f"{slip.unsure} more may fit, but must be read or looked at again first")
    return lines


def _piece(part: Part) -> str:
    size = part.tube_label or str(part.size)
    place = " ".join(filter(None, (part.bin, part.shelf))) or "no place"
    count = f", {part.quantity} pieces" if part.quantity != 1 else ""
    return f"{place}: {part.kind} {size}{part.rim_kind}{count} ({pretty(part.code)})"


def _never_line(one: Never) -> str:
    names = f" ({', '.join(one.names)})" if one.names else ""
    said = f"; {'; '.join(one.opinions)}" if one.opinions else ""
    return f"{one.bsd} mm{names}: {one.why}{said}"
