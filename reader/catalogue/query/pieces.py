"""Pieces of each sort, summed up by the database: what a tally is made from."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

import sqlalchemy as sa

from reader.catalogue.columns import SETTLED
from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError

By = Literal["bsd", "size", "width", "kind", "month", "year", "bin", "depot"]
BYS: tuple[By, ...] = get_args(By)
CANDIDATES = schema.candidates
EXACT_UP_TO = 400  # uncertain pieces in one line; above, the normal curve is as good
CLASS_MM = 10  # width classes: 20 to 29 mm, 30 to 39 mm, …
JUDGED = {"bsd": "bsd_verdict", "width": "width_verdict"}  # what else the whole size's word is for
OF_EVERY_PART = ("month", "year", "bin", "depot")  # no reading is needed to tell them
WHOLE, FAINT = 1 - 1e-6, 1e-6  # belief that counts as certainty, and that counts as none
AT_ONCE = 500  # SQLite bounds the number of parameters


@dataclass(frozen=True)
class Among:
    """Which parts are counted; '' for all."""

    kind: str = ""  # tyre, rim, tube or unknown
    bin: str = ""
    depot: str = ""


Sort = tuple[Any, ...]


@dataclass
class Pieces:
    """What the database summed up of one sort; `cells` are few enough to count exactly, or none."""

    known: int = 0  # pieces whose belief is whole
    expected: float = 0.0  # of those whose belief is not
    variance: float = 0.0
    unsure: int = 0
    certain: int = 0
    settled: int = 0
    cells: list[tuple[float, int, int]] = field(default_factory=list)  # belief, pieces, parts

    def add(self, more: Sequence[Any]) -> None:
        """Add sums from the database, in the order of the fields."""
        for name, value in zip(SUMMED, more, strict=True):
            setattr(self, name, getattr(self, name) + (value or 0))


SUMMED = ("known", "expected", "variance", "unsure", "certain", "settled")


def groups(
    catalogue: Catalogue, by: By, across: By | None, among: Among
) -> dict[tuple[str, Sort], Pieces]:
    """Pieces counted by the database, for each name across and each sort."""
    for one in filter(None, (by, across)):
        if one not in BYS:
            raise InputError(f"can't count by {one!r}", f"use one of: {', '.join(BYS)}")
    p = PARTS.c
    clauses = [p.quantity > 0, p.state != "foreign"]
    for name in ("kind", "bin", "depot"):
        if getattr(among, name):
            clauses.append(p[name] == getattr(among, name))
    groups: dict[tuple[str, Sort], Pieces] = {}
    with catalogue.read() as connection:
        for query in _queries(by):
            inner = _inner(query, by, across, clauses)
            for (
                *sort,
                name,
                known,
                expected,
                variance,
                unsure,
                certain,
                settled,
            ) in connection.execute(_summed(inner)).all():
                here = groups.setdefault((str(name), tuple(sort)), Pieces())
                here.add((known, expected, variance, unsure, certain, settled))
        few = {key for key, one in groups.items() if 0 < one.unsure <= EXACT_UP_TO}
        for query in _queries(by)[1:] if few else []:
            for *sort, name, pieces, chance, parts in connection.execute(
                _celled(_inner(query, by, across, clauses), few)
            ).all():
                key = (str(name), tuple(sort))
                if key in few:
                    groups[key].cells.append((chance, pieces, parts))
    return groups


def _inner(
    query: sa.Select[Any], by: By, across: By | None, clauses: Sequence[sa.ColumnElement[bool]]
) -> sa.Subquery:
    """Each part with each sort that it may be of, and what else is needed to count it."""
    p = PARTS.c
    column = _sort(across)[0] if across else sa.literal("")
    more = (
        column.label("across"),
        p.state.in_(SETTLED).label("said"),
        (p[JUDGED.get(by, "verdict")] == "sure").label("sure"),
    )
    return query.add_columns(*more).where(*clauses).subquery()


def _keys(inner: sa.Subquery) -> list[sa.ColumnElement[Any]]:
    counted = ("code", "quantity", "probability", "said", "sure", "across")
    return [*(column for column in inner.c if column.name not in counted), inner.c.across]


def _summed(inner: sa.Subquery) -> sa.Select[Any]:
    """Sums of each sort, in the order of `SUMMED`."""
    i, keys = inner.c, _keys(inner)
    whole, chance, pieces = i.probability >= WHOLE, i.probability, i.quantity
    certain = sa.or_(whole, sa.and_(i.sure, chance > 0.5))

    def total(of: Any, where: sa.ColumnElement[bool]) -> sa.ColumnElement[Any]:
        return sa.func.sum(sa.case((where, of), else_=0))

    unsure = sa.not_(whole)
    return (
        sa.select(
            *keys,
            total(pieces, whole),
            total(chance * pieces, unsure),
            total(chance * (1 - chance) * pieces * pieces, unsure),
            total(pieces, unsure),
            total(pieces, certain),
            total(pieces, sa.and_(i.said, whole)),
        )
        .where(chance > FAINT)
        .group_by(*keys)
    )


def _celled(inner: sa.Subquery, few: Collection[tuple[str, Sort]]) -> sa.Select[Any]:
    """The single beliefs in sorts of few pieces; of all sorts, where those are many."""
    i, keys = inner.c, _keys(inner)
    query = sa.select(*keys, i.quantity, i.probability, sa.func.count())
    query = query.where(i.probability > FAINT, i.probability < WHOLE)
    first = {sort[0] for _, sort in few}
    if len(first) <= AT_ONCE:
        alike = keys[0].in_([one for one in first if one is not None])
        query = query.where(sa.or_(alike, keys[0].is_(None)) if None in first else alike)
    return query.group_by(*keys, i.quantity, i.probability)


def _queries(by: By) -> list[Any]:
    """What is whole, which needs no look at candidates; what is not; what is not read."""
    if by in OF_EVERY_PART:
        return [sa.select(*_sort(by), PARTS.c.quantity, sa.literal(1.0).label("probability"))]
    return [_whole(by), _known(by), _unknown(by)]


def _whole(by: By) -> sa.Select[Any]:
    """Parts of which the best candidate has all the belief, as after a person's word."""
    p = PARTS.c
    query = sa.select(*_sort(by, p), p.quantity, sa.literal(1.0).label("probability"))
    return query.where(p.probability >= WHOLE, p.bsd.is_not(None))


def _known(by: By) -> sa.Select[Any]:
    """Each other part with each sort that it may be of."""
    p, c = PARTS.c, CANDIDATES.c
    sort = _sort(by)
    if by == "size":  # a part's candidates differ in size
        query = sa.select(*sort, p.quantity, c.probability.label("probability"))
        query = query.join_from(CANDIDATES, PARTS, c.part == p.code)
        return query.where(p.probability < WHOLE)
    # Two candidates that differ in width only are one in a count by diameter.
    query = sa.select(*sort, p.code, p.quantity, sa.func.sum(c.probability).label("probability"))
    query = query.join_from(CANDIDATES, PARTS, c.part == p.code).where(p.probability < WHOLE)
    return query.group_by(*sort, p.code)  # what else is asked of the part hangs on its code


def _unknown(by: By) -> Any:
    """Each of those with the belief that no candidate has."""
    p, c = PARTS.c, CANDIDATES.c
    told = sa.select(sa.func.sum(c.probability)).where(c.part == p.code).scalar_subquery()
    rest = 1 - sa.func.coalesce(told, 0.0)
    nothing = [sa.cast(sa.null(), one.type).label(one.name) for one in _sort(by)]
    query = sa.select(*nothing, p.quantity, rest.label("probability"))
    return query.where(sa.or_(p.probability < WHOLE, p.bsd.is_(None)))


def _sort(by: By, of: Any = CANDIDATES.c) -> list[sa.ColumnElement[Any]]:
    p, c = PARTS.c, of
    sorts: dict[str, list[sa.ColumnElement[Any]]] = {
        "size": [c.bsd.label("bsd"), c.width.label("width"), c.kind.label("kind")],
        "bsd": [c.bsd.label("name")],
        "width": [sa.cast(sa.func.floor(c.width / CLASS_MM), sa.Integer).label("name")],
        "kind": [c.kind.label("name")],
        "month": [sa.func.substr(p.arrived, 1, 7).label("name")],
        "year": [sa.func.substr(p.arrived, 1, 4).label("name")],
        "bin": [p.bin.label("name")],
        "depot": [p.depot.label("name")],
    }
    return sorts[by]
