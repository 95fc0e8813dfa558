"""The words of a slip: headings with their sentences, in the order that a counter needs."""

from __future__ import annotations

from collections.abc import Iterator

from reader.catalogue.columns import Part
from reader.catalogue.db.codes import pretty
from reader.catalogue.query.slip import Never, Slip
from reader.fit.partners import runs
from reader.fit.pressure import at_least, at_most
from reader.language import said, words

NAMES = 14  # of a size, on a slip


def sections(slip: Slip) -> Iterator[tuple[str, list[str]]]:
    """Headings, each with its sentences."""
    if slip.settle:
        yield said("Not settled"), [said(slip.settle)]
    if slip.fit is not None:
        checks = (said(f"check: {one}") for one in slip.fit.checks)
        grade = said(slip.fit.grade.value).upper()
        yield said("Do they go together"), [grade, *words(*slip.fit.reasons[:2]), *checks]
    names = ", ".join(slip.names[:NAMES])
    rarer = len(slip.names) - NAMES
    more = f" {said(f'and {rarer} rarer names')}" if rarer > 0 else ""
    yield said("Sold as"), [names + more or said("no name is known; ask for the ISO size")]
    if slip.goes:
        head = (
            said("Tyre widths, mm")
            if slip.part != "tyre"
            else said("Rims: inner widths, mm (crochet)")
        )
        lines = [
            f"{said(one.value)}: {said(runs(widths, slip.widths))}" for one, widths in slip.goes
        ]
        for low, high, below, above in slip.holes:
            gap = f"{low:g}" if low == high else f"{low:g} to {high:g}"
            lines.append(said(f"in no table: {gap}, though {below:g} and {above:g} are"))
        yield head, lines
    yield said("Tube and valve"), _tube_lines(slip)
    yield said("Pressure"), _pressure_lines(slip)
    if slip.there or slip.tubes_there or slip.unsure:
        yield said("In the bins"), _bin_lines(slip)
    if slip.never:
        yield said("Never, though it sounds alike"), [_never_line(one) for one in slip.never]
    yield said("Mind"), list(words(*slip.cautions))


def _tube_lines(slip: Slip) -> list[str]:
    labels = ", ".join(label.text for label in slip.tubes)
    lines = [
        said(f"labels such as {labels}") if labels else said("no label is known for this diameter")
    ]
    lines.append(said(f"a label must list {slip.size.bsd}; its range must hold the tyre's width"))
    return [*lines, f"{said(slip.valves)} ({said('from memory: measure the hole')})"]


def _pressure_lines(slip: Slip) -> list[str]:
    low, high = slip.pressure.low, slip.pressure.high
    lines = [said("the lower of what tyre and rim say")]
    if high is not None:
        lines.append(said(f"here at most {at_most(high.kpa)} ({high.by})"))
    if low is not None:
        lines.append(said(f"at least {at_least(low.kpa)} ({low.by})"))
    return lines


def _bin_lines(slip: Slip) -> list[str]:
    lines = [f"{_piece(one.part)}: {said(one.fit.grade.value)}" for one in slip.there]
    lines += [f"{_piece(one.part)}: {said(one.verdict.grade.value)}" for one in slip.tubes_there]
    if slip.unsure:
        lines.append(said(f"{slip.unsure} more may fit, but must be read or looked at again first"))
    return lines


def _piece(part: Part) -> str:
    size = part.tube_label or str(part.size)
    place = " ".join(filter(None, (part.bin, part.shelf))) or said("no place")
    count = f", {said(f'{part.quantity} pieces')}" if part.quantity != 1 else ""
    return f"{place}: {said(part.kind)} {size}{part.rim_kind}{count} ({pretty(part.code)})"


def _never_line(one: Never) -> str:
    names = f" ({', '.join(one.names)})" if one.names else ""
    opinions = "".join(f"; {said(opinion)}" for opinion in one.opinions)
    return said(f"{one.bsd} mm{names}: {said(one.why)}{opinions}")
