"""The words in which `tyremark fit` answers."""

from __future__ import annotations

from reader.cli.layout import Laid, sources
from reader.fit.doubtful import ReadFit
from reader.fit.editions import Word
from reader.fit.grades import GRADES, Grade
from reader.fit.mount import CAUTIONS, Fit
from reader.fit.partners import Listing, runs
from reader.fit.pressure import PressureRange, at_least, at_most
from reader.fit.widths import sentence
from reader.report import percent
from reader.tables import Tables

SHORT_CAUTION = "Makers' words overrule every table; pump to the lower of both limits."


def lay_fit(found: Fit, tables: Tables) -> Laid:
    """One pair: the grade first, then what it rests on, what to check, and the pressure."""
    laid = Laid(f"{found.tyre.size} on {found.rim}: {found.grade.value.upper()}")
    lines = [found.reasons[0]]
    lines += [f"check: {check}" for check in found.checks]
    if found.grade is Grade.NEVER:
        lines += found.reasons[1:]
    elif found.pressure is not None:
        lines.append(pressure_line(found.pressure))
        lines.append(SHORT_CAUTION)
    laid.lines = lines
    if found.grade is not Grade.NEVER:
        laid.why += found.reasons[1:]
        laid.why += [
            sentence(one, found.tyre, found.rim)
            for one in found.editions
            if one.role == "shown" and one.word is not Word.SILENT
        ]
    if found.pressure is not None and found.pressure.low is not None:
        low = found.pressure.low
        laid.why.append(f"at least {at_least(low.kpa)} ({low.by})")
    laid.why += [f"mind: {caution}" for caution in found.cautions]
    laid.why += sources(
        (one.source for one in found.editions if one.word is not Word.SILENT), dict(tables.sources)
    )
    return laid


def pressure_line(pressure: PressureRange) -> str:
    """The greatest pressure and who sets it."""
    high = pressure.high
    if high is None:
        return "at most: the lower of what tyre and rim say; neither was given"
    return f"at most {at_most(high.kpa)} ({high.by})"


def lay_read(read: ReadFit, tables: Tables) -> Laid:
    """A pair of which a size is not settled: 'if it is 590: ..., if it is 597: ...'."""
    laid = Laid(f"{read.grade.value.upper()}: {read.words}")
    if read.grade is Grade.CANT_TELL and read.outcomes:
        laid.head = "CAN'T TELL: a size is not settled; read the ISO pair on both parts"
    for found, belief in read.outcomes[:4]:
        pair = f"{found.tyre.size} on {found.rim}"
        line = f"if {pair} ({percent(belief)}): {found.grade.value}"
        laid.lines.append(line)
        laid.why.append(f"{pair}: {found.reasons[0]}")
    first = read.outcomes[0][0] if read.outcomes else None
    laid.why += [f"check: {check}" for check in (first.checks if first else ())]
    laid.why += [f"mind: {caution}" for caution in (first.cautions if first else CAUTIONS)]
    return laid


def lay_list(title: str, what: str, listing: Listing, tables: Tables) -> Laid:
    """Widths by grade, and the holes between them."""
    laid = Laid(f"{title} ({what} in mm)")
    for grade in GRADES:
        widths = [line.size.width or 0.0 for line in listing if line.fit.grade is grade]
        if widths:
            laid.lines.append(f"{grade.value}: {runs(widths, listing.widths)}")
    if not listing:
        laid.lines.append("none by the tables held here")
    for low, high, below, above in listing.holes:
        gap = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        laid.lines.append(f"a hole: {gap} in no table, though {below:g} and {above:g} are")
    laid.lines.append(SHORT_CAUTION)
    lone = [line for line in listing if len(line.fit.reasons) > 0]
    laid.why += [f"{line.size.width:g}: {line.fit.reasons[0]}" for line in lone]
    if listing:
        first = listing.lines[0].fit
        laid.why += [f"check: {check}" for check in first.checks]
        laid.why += [f"mind: {caution}" for caution in first.cautions[:3]]
    keys = (one.source for line in listing for one in line.fit.editions if one.decides)
    laid.why += sources(keys, dict(tables.sources))
    return laid
