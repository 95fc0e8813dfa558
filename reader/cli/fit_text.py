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
from reader.language import N_, said, words
from reader.report import percent
from reader.tables import Tables

SHORT_CAUTION = N_("Makers' words overrule every table; pump to the lower of both limits.")


def lay_fit(found: Fit, tables: Tables) -> Laid:
    """One pair: the grade first, then what it rests on, what to check, and the pressure."""
    laid = Laid(f"{_pair(found)}: {said(found.grade.value).upper()}")
    lines = [said(found.reasons[0])]
    lines += [said(f"check: {check}") for check in found.checks]
    if found.grade is Grade.NEVER:
        lines += words(*found.reasons[1:])
    elif found.pressure is not None:
        lines.append(pressure_line(found.pressure))
        lines.append(said(SHORT_CAUTION))
    laid.lines = lines
    if found.grade is not Grade.NEVER:
        laid.why += words(*found.reasons[1:])
        laid.why += [
            said(sentence(one, found.tyre, found.rim))
            for one in found.editions
            if one.role == "shown" and one.word is not Word.SILENT
        ]
    if found.pressure is not None and found.pressure.low is not None:
        low = found.pressure.low
        laid.why.append(said(f"at least {at_least(low.kpa)} ({low.by})"))
    laid.why += [said(f"mind: {caution}") for caution in found.cautions]
    laid.why += sources(
        (one.source for one in found.editions if one.word is not Word.SILENT), dict(tables.sources)
    )
    return laid


def _pair(found: Fit) -> str:
    return f"{found.tyre.size} {said('on')} {found.rim}"


def pressure_line(pressure: PressureRange) -> str:
    """The greatest pressure and who sets it."""
    high = pressure.high
    if high is None:
        return said("at most: the lower of what tyre and rim say; neither was given")
    return said(f"at most {at_most(high.kpa)} ({high.by})")


def lay_read(read: ReadFit, tables: Tables) -> Laid:
    """A pair of which a size is not settled: 'if it is 590: ..., if it is 597: ...'."""
    laid = Laid(f"{said(read.grade.value).upper()}: {said(read.words)}")
    if read.grade is Grade.CANT_TELL and read.outcomes:
        open_size = said("a size is not settled; read the ISO pair on both parts")
        laid.head = f"{said(Grade.CANT_TELL.value).upper()}: {open_size}"
    for found, belief in read.outcomes[:4]:
        pair = _pair(found)
        line = said(f"if {pair} ({percent(belief)}): {found.grade.value}")
        laid.lines.append(line)
        laid.why.append(f"{pair}: {said(found.reasons[0])}")
    first = read.outcomes[0][0] if read.outcomes else None
    laid.why += [said(f"check: {check}") for check in (first.checks if first else ())]
    laid.why += [said(f"mind: {caution}") for caution in (first.cautions if first else CAUTIONS)]
    return laid


def lay_list(title: str, what: str, listing: Listing, tables: Tables) -> Laid:
    """Widths by grade, and the holes between them."""
    laid = Laid(f"{title} ({said(f'{what} in mm')})")
    for grade in GRADES:
        widths = [line.size.width or 0.0 for line in listing if line.fit.grade is grade]
        if widths:
            laid.lines.append(f"{said(grade.value)}: {runs(widths, listing.widths)}")
    if not listing:
        laid.lines.append(said("none by the tables held here"))
    for low, high, below, above in listing.holes:
        gap = f"{low:g}" if low == high else said(f"{low:g} to {high:g}")
        laid.lines.append(said(f"a hole: {gap} in no table, though {below:g} and {above:g} are"))
    laid.lines.append(said(SHORT_CAUTION))
    lone = [line for line in listing if len(line.fit.reasons) > 0]
    laid.why += [f"{line.size.width:g}: {said(line.fit.reasons[0])}" for line in lone]
    if listing:
        first = listing.lines[0].fit
        laid.why += [said(f"check: {check}") for check in first.checks]
        laid.why += [said(f"mind: {caution}") for caution in first.cautions[:3]]
    keys = (one.source for line in listing for one in line.fit.editions if one.decides)
    laid.why += sources(keys, dict(tables.sources))
    return laid
