"""A slip for the counter: all that a customer with one part should know, on one page.

Under which names tyres for it are sold, which widths go, tube and valve, pressures, what lies in
which bin, and what never fits though it sounds alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reader.catalogue.columns import Part
from reader.catalogue.db.parts import get_part
from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.facts import rim_of_part, tyre_of_part
from reader.catalogue.query.search import Found, FoundTube, fits, tubes_for
from reader.errors import InputError
from reader.fit.grades import ALLOWED, GRADES, Grade
from reader.fit.mount import CAUTIONS, Fit, fit
from reader.fit.partners import Listing, rims_for, tyres_for
from reader.fit.parts import Rim, Tyre
from reader.fit.pressure import PressureRange, pressure_range
from reader.fit.rim_tape import VALVES
from reader.fit.tube import labels_for
from reader.language import N_
from reader.names.meaning import Meaning
from reader.names.parts import rim_of, tyre_of
from reader.names.suggest import UnknownSize
from reader.names.synonyms import other_names
from reader.names.typed import Typed, parse
from reader.records import Size
from reader.report import percent
from reader.table_rows import TubeLabel
from reader.tables import Tables

LISTED = 12  # parts in bins on one slip
VALVE_WORDS = "; ".join(N_(f"{name}: hole of {hole:g} mm") for _, name, _, hole in VALVES)


@dataclass(frozen=True)
class Never:
    """A diameter that sounds alike: its names, why it is mixed up, what is said of trying it."""

    bsd: int
    names: tuple[str, ...]
    why: str
    opinions: tuple[str, ...]


@dataclass(frozen=True)
class Slip:
    """One page. `goes` are widths by grade (tyres for a rim, inner widths for a tyre).

    `there` are parts in the bins that were read surely enough; `unsure` counts those that must be
    read again. `settle` is a question still open, '' if none: the slip then holds for one answer.
    """

    title: str
    part: str  # 'tyre', 'rim' or 'wheel' (both)
    size: Size
    names: tuple[str, ...]
    goes: tuple[tuple[Grade, tuple[float, ...]], ...]
    widths: tuple[float, ...]  # all that exist on this diameter
    holes: tuple[tuple[float, float, float, float], ...]
    fit: Fit | None
    pressure: PressureRange
    tubes: tuple[TubeLabel, ...]
    valves: str
    there: tuple[Found, ...]
    tubes_there: tuple[FoundTube, ...]
    unsure: int
    never: tuple[Never, ...]
    cautions: tuple[str, ...]
    settle: str = ""


def slips(
    texts: Sequence[str], tables: Tables, catalogue: Catalogue | None = None, market: str = "world"
) -> tuple[Slip, ...]:
    """Slips for what was asked for: a size in any notation, a part's code, or tyre and rim.

    Two names of the same part are taken together, as on the telephone ('26 x 1 3/8', 'E.A.3'). A
    name that means several diameters gives one slip a diameter, each saying what would settle it.

    Raises:
        InputError: neither a size nor a part's code, or three names.
    """
    if not 1 <= len(texts) <= 2:
        raise InputError(f"{len(texts)} names", "give one or two, or a part's code")
    if len(texts) == 1:
        part = _part(texts[0], tables, catalogue)
        if part is not None:
            return (_of_part(part, tables, catalogue),)
        return _typed(parse(texts[0], tables, market), tables, catalogue)
    try:
        typed = [parse(text, tables, market) for text in texts]
    except UnknownSize:  # a code alone says nothing: 'E.A.3' beside '26 x 1 3/8' does
        typed = []
    kinds = {one.kind for one in typed}
    if "rim" in kinds and len(kinds) == 2:  # '28-622' may be either, so it is the tyre here
        typed.sort(key=lambda one: one.kind == "rim")
        tyre = tyre_of(typed[0].one("tyre"), tables)
        rim = rim_of(typed[1].one("rim"), tables)
        return (slip(tyre, rim, tables, catalogue),)
    return _typed(parse(" ".join(texts), tables, market), tables, catalogue)


def _part(text: str, tables: Tables, catalogue: Catalogue | None) -> Part | None:
    """The part of that code, where the text is no size."""
    try:
        parse(text, tables)
    except InputError:
        if catalogue is None:
            raise
        try:
            return get_part(catalogue, text)
        except InputError as error:
            raise InputError(f"'{text}' is no size and no part's code", error.remedy) from error
    return None


def _of_part(part: Part, tables: Tables, catalogue: Catalogue | None) -> Slip:
    if part.size is None or part.kind not in ("tyre", "rim"):
        raise InputError(f"part {part.code} is no tyre or rim with a size", "type its size instead")
    settle = ""
    if not part.settled and part.verdict != "sure":
        belief = percent(part.probability)
        settle = N_(f"this part was read as {part.size} with {belief} belief only: read it again")
    if part.kind == "rim":
        return slip(None, rim_of_part(part, part.size), tables, catalogue, settle)
    return slip(tyre_of_part(part, part.size), None, tables, catalogue, settle)


def _typed(typed: Typed, tables: Tables, catalogue: Catalogue | None) -> tuple[Slip, ...]:
    part = "rim" if typed.kind == "rim" else "tyre"
    found = typed.likely(part)
    sizes = " or ".join(str(one.size.bsd) for one in found)
    settle = N_(f"'{typed.text}' can mean {sizes} mm: ask for the number with the hyphen")
    return tuple(
        _meant(one, part, tables, catalogue, settle if len(found) > 1 else "") for one in found
    )


def _meant(
    one: Meaning, part: str, tables: Tables, catalogue: Catalogue | None, settle: str
) -> Slip:
    if part == "rim":
        return slip(None, rim_of(one, tables), tables, catalogue, settle)
    return slip(tyre_of(one, tables), None, tables, catalogue, settle)


def slip(
    tyre: Tyre | None,
    rim: Rim | None,
    tables: Tables,
    catalogue: Catalogue | None = None,
    settle: str = "",
) -> Slip:
    """The slip of a tyre, of a rim, or of both as one wheel.

    Raises:
        InputError: neither is given.
    """
    known = rim or tyre
    if known is None:
        raise InputError("no part", "give a tyre, a rim or both")
    size = known.size
    pair = fit(tyre, rim, tables) if tyre and rim else None
    listing = _listing(tyre, rim, tables)
    goes = _by_grade(listing)
    found = fits(catalogue, known, tables, limit=500) if catalogue is not None else []
    found = [one for one in found if not one.part.kept_back]
    there = tuple(one for one in found if one.fit.grade in ALLOWED)
    return Slip(
        title=" + ".join(str(one.size if isinstance(one, Tyre) else one)
                         for one in (tyre, rim) if one),
        part="wheel" if pair else ("rim" if rim else "tyre"),
        size=size,
        names=other_names(Size(size.bsd) if tyre is None else tyre.size, tables)
        or other_names(Size(size.bsd), tables),
        goes=goes,
        widths=listing.widths if listing else (),
        holes=listing.holes if listing else (),
        fit=pair,
        pressure=pressure_range(tyre or Tyre(Size(size.bsd)), rim, tables),
        tubes=_tubes(tyre, size.bsd, goes, tables),
        valves=VALVE_WORDS,
        there=there[:LISTED],
        tubes_there=_tubes_there(catalogue, tyre),
        unsure=len(found) - len(there),
        never=never(size.bsd, tables),
        cautions=CAUTIONS,
        settle=settle,
    )  # fmt: skip


def _listing(tyre: Tyre | None, rim: Rim | None, tables: Tables) -> Listing | None:
    """Widths that go with the one part; none where its own width is not known."""
    if rim is not None and rim.size.width is not None:
        return tyres_for(rim, tables)
    if rim is None and tyre is not None and tyre.size.width is not None:
        return rims_for(tyre, tables)
    return None


def _by_grade(listing: Listing | None) -> tuple[tuple[Grade, tuple[float, ...]], ...]:
    lines = listing.lines if listing else ()
    by_grade = {
        grade: tuple(line.size.width or 0.0 for line in lines if line.fit.grade is grade)
        for grade in GRADES
    }
    return tuple((grade, widths) for grade, widths in by_grade.items() if widths)


def _tubes(
    tyre: Tyre | None, bsd: int, goes: tuple[tuple[Grade, tuple[float, ...]], ...], tables: Tables
) -> tuple[TubeLabel, ...]:
    """Labels for the tyre, or for tyres that go on the rim; those read in a source first."""
    if tyre is not None and tyre.size.width is not None:
        return labels_for(tyre.size, tables)[:6]
    allowed = [width for grade, widths in goes if grade in ALLOWED for width in widths]
    found = [
        label
        for label in tables.tube_labels
        if bsd in label.bsds
        and (not allowed or any(label.width_min <= one <= label.width_max for one in allowed))
    ]
    return tuple(sorted(found, key=lambda label: label.from_memory)[:6])


def _tubes_there(catalogue: Catalogue | None, tyre: Tyre | None) -> tuple[FoundTube, ...]:
    if catalogue is None or tyre is None or tyre.size.width is None:
        return ()
    return tuple(tubes_for(catalogue, tyre.size, limit=LISTED))


def never(bsd: int, tables: Tables) -> tuple[Never, ...]:
    """Diameters that are mixed up with this one, with every opinion on trying it.

    >>> from reader.tables import load_tables
    >>> [one.bsd for one in never(590, load_tables())][:2]
    [584, 597]
    """
    rows = [row for row in tables.near_misses if bsd in row.bsds]
    others = dict.fromkeys(next(iter(row.bsds - {bsd})) for row in rows)
    return tuple(
        Never(
            other,
            other_names(Size(other), tables)[:3],
            next(row.why for row in rows if other in row.bsds),
            tuple(row.opinion for row in rows if other in row.bsds and row.opinion),
        )
        for other in others
    )
