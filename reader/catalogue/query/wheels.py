"""Pairs of rim and tyre in the catalogue that make a wheel, and what is missing for more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from reader.catalogue.columns import Part
from reader.catalogue.db.parts import PARTS, part_of
from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.facts import rim_of_part, tyre_of_part
from reader.catalogue.query.offer import offered
from reader.errors import InputError
from reader.fit.grades import ALLOWED, GRADES, USABLE, Grade
from reader.fit.mount import fit
from reader.records import Size
from reader.tables import Tables

SURE = 0.99  # belief in both sizes together, below which the pair must be read again


@dataclass(frozen=True)
class Pair:
    """A rim and a tyre that go together if both are read rightly."""

    rim: Part
    tyre: Part
    grade: Grade  # what may be said: "can't tell" while a reading is not sure
    if_right: Grade
    chance: float  # that both sizes are right; where a width is open, both diameters
    width_open: bool = False  # only the diameters are known to go together


@dataclass(frozen=True)
class Lone:
    """A size of which parts lie there without a partner."""

    kind: str  # of the parts that lie there
    size: Size
    pieces: int


def pairs(
    catalogue: Catalogue,
    tables: Tables,
    bin: str = "",
    *,
    depot: str = "",
    all_conditions: bool = False,
    hub: int | None = None,
) -> tuple[list[Pair], list[Lone]]:
    """Pair rims with tyres, each piece once, best grades first; and what stays alone.

    Rims with the fewest possible partners choose first, so that few stay alone. With the spoke
    holes of a `hub`, rims that have another number are left out.
    """
    found: list[Pair] = []
    alone: list[Lone] = []
    for rims, tyres in _by_diameter(catalogue, bin, offered(all_conditions, depot, hub)):
        left = {part.code: part.quantity for part in rims + tyres}
        words = _grades(rims, tyres, tables)
        stock: Stock = defaultdict(list)
        for tyre in reversed(tyres):  # the surest last, as they are taken from the end
            stock[_sort_of(tyre)].append(tyre)
        for rim in sorted(rims, key=lambda rim: (len(words[_sort_of(rim)]), rim.code)):
            found += _choose(rim, stock, words[_sort_of(rim)], left)
        nearly = _open_widths(rims, tyres, tables)
        for rim in rims:  # with what is left, so that no fit is lost to an open question
            found += _choose(rim, stock, nearly.get(_sort_of(rim), {}), left)
        alone += _lonely(rims + tyres, left)
    order = {word: index for index, word in enumerate(GRADES)}
    found.sort(key=lambda pair: (order[pair.grade], order[pair.if_right], -pair.chance))
    alone.sort(key=lambda one: (-one.pieces, one.kind, one.size.bsd, one.size.width or 0))
    return found, alone


def _by_diameter(
    catalogue: Catalogue, bin: str, where: Sequence[sa.ColumnElement[bool]]
) -> Iterator[tuple[list[Part], list[Part]]]:
    c = PARTS.c
    query = sa.select(PARTS).where(c.bsd.is_not(None), *where)
    query = query.where(c.kind.in_(("rim", "tyre"))).order_by(c.probability.desc(), c.code)
    if bin:
        query = query.where(c.bin == bin)
    groups: dict[int, tuple[list[Part], list[Part]]] = defaultdict(lambda: ([], []))
    with catalogue.read() as connection:
        for row in connection.execute(query).mappings():
            groups[row["bsd"]][row["kind"] == "tyre"].append(part_of(row))
    for bsd in sorted(groups):
        yield groups[bsd]


# What fit asks of a part: all parts of one sort have the same answers.
Sort = tuple[float | str | None, ...]
Stock = dict[Sort, list[Part]]  # tyres of one diameter by sort


def _sort_of(part: Part) -> Sort:
    marks = (part.rim_kind, part.tubeless, part.hookless, part.pressure_low, part.pressure_high)
    return (_width(part), *marks, part.allows_from, part.allows_to)


def _width(part: Part) -> float | None:
    return None if part.width_open else part.width


def _grades(
    rims: list[Part], tyres: list[Part], tables: Tables
) -> dict[Sort, dict[Sort, tuple[Grade, float]]]:
    """For each sort of rim, the sorts of tyre that may go on it, with their width."""
    sorts = {_sort_of(tyre): tyre for tyre in reversed(tyres)}
    words: dict[Sort, dict[Sort, tuple[Grade, float]]] = {}
    for rim in rims:
        if _sort_of(rim) not in words:
            words[_sort_of(rim)] = {
                sort: (word, tyre.width or 0.0)
                for sort, tyre in sorts.items()
                if (word := _grade(rim, tyre, tables)) in ALLOWED
            }
    return words


def _open_widths(
    rims: list[Part], tyres: list[Part], tables: Tables
) -> dict[Sort, dict[Sort, tuple[Grade, float]]]:
    """The same for those of which only the diameters are sure, as far as nothing bars them."""
    known = [
        {_sort_of(part): part for part in parts if part.bsd_verdict == "sure"}
        for parts in (rims, tyres)
    ]
    return {
        one: {
            sort: (Grade.CANT_TELL, tyre.width or 0.0)
            for sort, tyre in known[1].items()
            if (rim.width_open or tyre.width_open) and _grade(rim, tyre, tables) in USABLE
        }
        for one, rim in known[0].items()
    }


def _grade(rim: Part, tyre: Part, tables: Tables) -> Grade:
    """How both go together if both are read rightly, with all that is known of them."""
    try:
        one = tyre_of_part(tyre, Size(tyre.bsd or 0, _width(tyre)))
        return fit(one, rim_of_part(rim, Size(rim.bsd or 0, _width(rim))), tables).grade
    except InputError:  # a misread width that no part has
        return Grade.CANT_TELL


def _choose(
    rim: Part, stock: Stock, words: dict[Sort, tuple[Grade, float]], left: dict[str, int]
) -> list[Pair]:
    made: list[Pair] = []
    for sort in sorted(words, key=lambda sort: (GRADES.index(words[sort][0]), words[sort][1])):
        tyres = stock[sort]
        while tyres and left[rim.code]:
            tyre = tyres[-1]
            left[rim.code] -= 1
            left[tyre.code] -= 1
            if not left[tyre.code]:
                tyres.pop()
            if_right = words[sort][0]
            made.append(_pair(rim, tyre, if_right))
    return made


def _pair(rim: Part, tyre: Part, if_right: Grade) -> Pair:
    if rim.width_open or tyre.width_open:
        chance = rim.bsd_probability * tyre.bsd_probability
        return Pair(rim, tyre, Grade.CANT_TELL, Grade.CANT_TELL, chance, True)
    word = if_right if _sure(rim, tyre) else Grade.CANT_TELL
    return Pair(rim, tyre, word, if_right, rim.probability * tyre.probability)


def _sure(rim: Part, tyre: Part) -> bool:
    told = all(part.settled or part.verdict == "sure" for part in (rim, tyre))
    return told and rim.probability * tyre.probability >= SURE


def _lonely(parts: list[Part], left: dict[str, int]) -> list[Lone]:
    pieces: dict[tuple[str, Size], int] = defaultdict(int)
    for part in parts:
        if left[part.code] and part.told_size is not None:
            pieces[part.kind, part.told_size] += left[part.code]
    return [Lone(kind, size, count) for (kind, size), count in pieces.items()]
