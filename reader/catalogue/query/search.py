"""Finding parts: by size, place and state, and by what fits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import Part
from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS, part_of
from reader.catalogue.db.records import Share
from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.facts import facts_of
from reader.catalogue.query.offer import offered
from reader.catalogue.query.words import worded
from reader.errors import InputError
from reader.fit.doubtful import ReadFit, fit_reading
from reader.fit.grades import GRADES, USABLE
from reader.fit.mount import Fit, fit
from reader.fit.parts import Rim, RimKind, Tyre
from reader.fit.tube import Suits, Tube, TubeVerdict, parse_tube, suits
from reader.records import Candidate, Judgement, Reading, Size, Verdict
from reader.tables import Tables

CANDIDATES = schema.candidates
FURTHER = 500  # parts with a maker's range, or with an open width, at most, that are looked at
WORTH = 0.05  # belief below which a candidate does not make a part worth fetching


@dataclass(frozen=True)
class Found:
    """A part that may fit, with what may be said about it."""

    part: Part
    fit: ReadFit


@dataclass(frozen=True)
class FoundTube:
    """A tube that may suit."""

    part: Part
    verdict: TubeVerdict


def search(
    catalogue: Catalogue,
    *,
    kind: str = "",
    bsd: int | None = None,
    width: tuple[float, float] | None = None,
    bin: str = "",
    shelf: str = "",
    state: str = "",
    depot: str = "",
    facts: Mapping[str, Any] | None = None,
    text: str = "",
    gone: bool = False,
    limit: int = 50,
    offset: int = 0,
) -> list[Part]:
    """Parts by what is known of them, by place, then code.

    Args:
        catalogue: which.
        kind: tyre, rim, tube or unknown; '' for any.
        bsd: bead seat diameter, mm.
        width: from and to, mm, both included.
        bin: where.
        shelf: where in it.
        state: open, accepted, corrected, again, doubted, foreign.
        depot: which one it belongs to.
        facts: columns of `columns.FACTS` and others, each with the value it shall have.
        text: in note or condition, or at the beginning of the code.
        gone: with parts of which none is left.
        limit: at most so many.
        offset: leave out so many first, to turn pages.
    """
    c = PARTS.c
    exact = {"kind": kind, "bin": bin, "shelf": shelf, "state": state, "depot": depot}
    exact |= facts or {}
    query = sa.select(PARTS).where(*(c[name] == value for name, value in exact.items() if value))
    if bsd is not None:
        query = query.where(c.bsd == bsd)
    if width is not None:
        query = query.where(c.width.between(*width))
    if not gone:
        query = query.where(c.quantity > 0)
    query = query.order_by(c.bin, c.shelf, c.code).limit(limit).offset(offset)
    with catalogue.read() as connection:
        if text:
            query = query.where(worded(connection, text))
        return [part_of(row) for row in connection.execute(query).mappings()]


def fits(
    catalogue: Catalogue,
    other: Tyre | Rim,
    tables: Tables,
    bin: str = "",
    limit: int = 50,
    *,
    depot: str = "",
    all_conditions: bool = False,
    hub: int | None = None,
) -> list[Found]:
    """Parts that may go with a tyre (rims) or a rim (tyres), best grade first, then by place.

    Args:
        catalogue: which.
        other: the tyre or rim in the hand.
        tables: the sourced tables.
        bin: only there.
        limit: at most so many.
        depot: only there.
        all_conditions: rejects and what is to be looked at, too.
        hub: spoke holes of the hub that a rim is for.
    """
    kind = "tyre" if isinstance(other, Rim) else "rim"
    with catalogue.read() as connection:
        ranks = _ranks(connection, kind, other, tables)
        where = offered(all_conditions, depot, hub)
        if bin:
            where.append(PARTS.c.bin == bin)
        rows = _best(connection, kind, other.size.bsd, ranks, where, limit)
        c = PARTS.c
        at = [c.bsd + 0 == other.size.bsd, c.kind == kind, *where]
        open_width = [c.bsd_verdict == "sure", c.bsd == other.size.bsd, *at[1:]]
        open_width += [c.width_verdict.not_in(("sure", "likely"))]
        # Few parts have a maker's range, which overrules the tables: by its own index, not by way
        # of all parts of the diameter.
        for clauses in ([c.allows_to > 0, *at], open_width):
            rows += _further(connection, clauses, {row["code"] for row in rows})
        shares = _shares(connection, [row["code"] for row in rows])
    found = []
    for row in rows:
        part = part_of(row)
        outcome = _outcome(part, shares.get(part.code, ()), other, tables)
        if outcome.listed:  # a rim's edge may bar what its width allows; a faint guess is no fit
            found.append(Found(part, outcome))
    return sorted(found, key=_order)[:limit]


def _further(
    connection: Connection, clauses: Sequence[sa.ColumnElement[bool]], known: set[str]
) -> list[Any]:
    """Parts of which the width in the tables is not the last word, as far as not there yet."""
    query = sa.select(PARTS).where(*clauses).limit(FURTHER)
    rows = connection.execute(query).mappings()
    return [row for row in rows if row["code"] not in known]


def _order(found: Found) -> tuple[Any, ...]:
    grades = (GRADES.index(found.fit.grade), GRADES.index(found.fit.if_right))
    part = found.part
    return (*grades, -found.fit.chance, part.bin, part.shelf, part.code)


def _pair(size: Size, rim_kind: str, other: Tyre | Rim) -> tuple[Tyre, Rim]:
    if isinstance(other, Rim):
        return Tyre(size), other
    return other, Rim(size, RimKind(rim_kind))


def grade(size: Size, rim_kind: str, other: Tyre | Rim, tables: Tables) -> Fit:
    """How a part of that size goes with the other."""
    tyre, rim = _pair(size, rim_kind, other)
    return fit(tyre, rim, tables)


def _ranks(
    connection: Connection, kind: str, other: Tyre | Rim, tables: Tables
) -> dict[float | None, int]:
    """Each width that lies in the catalogue for this diameter -> rank of its grade, if usable."""
    c = CANDIDATES.c
    query = sa.select(c.width).distinct().where(c.bsd == other.size.bsd, c.kind == kind)
    ranks = {}
    for width in connection.scalars(query):
        try:
            word = grade(Size(other.size.bsd, width), "", other, tables).grade
        except InputError:  # a misread width that no part has
            continue
        if word in USABLE:
            ranks[width] = GRADES.index(word)
    return ranks


def _best(
    connection: Connection,
    kind: str,
    bsd: int,
    ranks: dict[float | None, int],
    where: Sequence[sa.ColumnElement[bool]],
    limit: int,
) -> list[Any]:
    """Rows of the best parts: grade by grade, so that the index alone finds them."""
    c = CANDIDATES.c
    rows: dict[str, Any] = {}
    for rank in sorted(set(ranks.values())):
        widths = [width for width, this in ranks.items() if this == rank and width is not None]
        clause: sa.ColumnElement[bool] = c.width.in_(widths)
        if None in ranks and ranks[None] == rank:
            clause = sa.or_(clause, c.width.is_(None))
        query = (
            sa.select(PARTS)
            .join_from(CANDIDATES, PARTS, c.part == PARTS.c.code)
            .where(c.bsd == bsd, c.kind == kind, clause, c.probability >= WORTH)
            .where(*where)
            .order_by(c.probability.desc(), c.part)
            .limit(limit - len(rows))
        )
        for row in connection.execute(query).mappings():
            rows.setdefault(row["code"], row)
        if len(rows) >= limit:
            break
    return list(rows.values())


def _shares(connection: Connection, found: Sequence[str]) -> dict[str, tuple[Share, ...]]:
    c = CANDIDATES.c
    query = (
        sa.select(c.part, c.kind, c.bsd, c.width, c.probability)
        .where(c.part.in_(found))
        .order_by(c.part, c.rank)
    )
    shares: dict[str, tuple[Share, ...]] = {}
    for code, *rest in connection.execute(query):
        shares[code] = (*shares.get(code, ()), Share(*rest))
    return shares


def reading_of(part: Part, shares: Sequence[Share]) -> Reading:
    """The part's candidates and marks as a reading, so that fit carries its doubt."""
    verdict = Verdict.SURE if part.settled else Verdict(part.verdict)
    candidates = tuple(
        Candidate(share.size, share.kind, share.probability)  # type: ignore[arg-type]
        for share in shares
    )
    whole = Reading(candidates, verdict, facts=facts_of(part))
    if part.bsd is None:
        return whole
    told = max(part.bsd_probability, whole.diameter.probability)
    return replace(
        whole,
        bsd_probability=told,
        diameter=Judgement(part.bsd, told, Verdict(part.bsd_verdict or part.verdict)),
        width=Judgement(part.width, part.probability, Verdict(part.width_verdict)),
    )


def _outcome(part: Part, shares: Sequence[Share], other: Tyre | Rim, tables: Tables) -> ReadFit:
    mine = reading_of(part, shares)
    if isinstance(other, Rim):
        return fit_reading(mine, other, tables, allows=part.allows)
    kind = RimKind(part.rim_kind)
    return fit_reading(other, mine, tables, kind=kind, allows=part.allows)


def tubes_for(
    catalogue: Catalogue,
    tyre: Size,
    bin: str = "",
    limit: int = 50,
    *,
    depot: str = "",
    all_conditions: bool = False,
) -> list[FoundTube]:
    """Tubes whose label suits a tyre's size; a tube whose label was not read is left out."""
    c = PARTS.c
    base = sa.select(PARTS).where(c.kind == "tube", c.tube_label != "")
    base = base.where(*offered(all_conditions, depot))
    if bin:
        base = base.where(c.bin == bin)
    labels = sa.select(c.tube_label).distinct().where(c.kind == "tube", c.tube_label != "")
    with catalogue.read() as connection:
        good = {text: suits(tube, tyre) for text, tube in _tubes(connection.scalars(labels).all())}
        good = {text: word for text, word in good.items() if word.grade is not Suits.NO}
        query = base.where(c.tube_label.in_(good)).order_by(c.bin, c.shelf, c.code).limit(limit)
        parts = [part_of(row) for row in connection.execute(query).mappings()]
    return [FoundTube(part, good[part.tube_label]) for part in parts]


def _tubes(labels: Sequence[str]) -> list[tuple[str, Tube]]:
    tubes = []
    for text in labels:
        try:
            tubes.append((text, parse_tube(text)))
        except InputError:  # a label in another notation: nothing can be said about it
            continue
    return tubes
