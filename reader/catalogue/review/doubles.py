"""Parts that look like one photographed twice: suggested by their looks, settled by a person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import Part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.parts import PARTS, apply_changes, found, locked, note_down, now, try_again
from reader.catalogue.db.store import Catalogue
from reader.catalogue.intake.surroundings import opened
from reader.errors import InputError
from reader.photo.likeness import Look, compare, glance, look, threshold

LOOKS, PAIRS = schema.looks, schema.lookalikes
CLOSELY = 8  # of one part's size, the ones most alike at a glance, that are compared closely
POOL = 200  # of one size, the ones that came in last, that are glanced at
KEPT = 256  # described pictures held in memory, some 700 kB each
SAME, DIFFERENT = "same", "different"


@dataclass(frozen=True)
class Double:
    """Two parts that may be one, and what a person said of them."""

    part: Part
    other: Part
    likeness: float  # 0..1
    said: str  # '', same, different
    gone: str  # code of the one that no longer counts, '' while both do


@dataclass(frozen=True)
class Suggested:
    """What a comparison brought."""

    pairs: int  # that look alike
    left: int  # parts still to be compared


def suggest(
    catalogue: Catalogue,
    told: Callable[[int, int], None] | None = None,
    most: int | None = None,
) -> Suggested:
    """Compare the looks of parts that are new with the last 200 others of their size.

    May be stopped at any moment; the next call goes on.

    Args:
        catalogue: which.
        told: called with how many parts are compared, and of how many.
        most: parts to compare now; None for all.
    """
    query = sa.select(LOOKS.c.part).where(LOOKS.c.compared == 0).order_by(LOOKS.c.part)
    with catalogue.read() as connection:
        waiting = list(connection.scalars(query))
    alike: set[frozenset[str]] = set()
    for number, code in enumerate(waiting[:most], start=1):
        pairs = _alike(catalogue, code)
        alike |= {frozenset((code, other)) for other, _ in pairs}
        try_again(partial(_keep, catalogue, code, pairs), catalogue.name)
        if told is not None:
            told(number, len(waiting))
    return Suggested(len(alike), len(waiting[most:]) if most is not None else 0)


def _alike(catalogue: Catalogue, code: str) -> list[tuple[str, float]]:
    """The parts of its size that look like it, with their likeness."""
    with catalogue.read() as connection:
        part = found(connection, code)
        near = _of_its_size(connection, part)
        wanted = [code, *near]
        kept = {one: look_of(catalogue.name, one, picture) for one, picture in
                _pictures(connection, wanted)}  # fmt: skip
    if code not in kept:
        return []
    mine = kept.pop(code)
    first = sorted(kept, key=lambda other: (-glance(mine, kept[other]), other))[:CLOSELY]
    pairs = []
    for other in first:
        one, two = (kept[other], mine) if other < code else (mine, kept[other])
        likeness = compare(one, two).probability
        if likeness >= threshold():
            pairs.append((other, round(likeness, 4)))
    return pairs


def _of_its_size(connection: Connection, part: Part) -> list[str]:
    """Codes of the parts that may be the same by what was read of them."""
    if part.bsd is None or part.quantity == 0 or part.state == "foreign":
        return []
    p = PARTS.c
    query = sa.select(p.code).join(LOOKS, LOOKS.c.part == p.code)
    query = query.where(p.bsd == part.bsd, p.code != part.code, p.quantity > 0)
    query = query.where(p.state != "foreign", p.kind.in_((part.kind, "unknown")))
    return list(connection.scalars(query.order_by(p.arrived.desc(), p.code).limit(POOL)))


def _pictures(connection: Connection, wanted: Sequence[str]) -> list[tuple[str, bytes]]:
    rows: list[tuple[str, bytes]] = []
    for start in range(0, len(wanted), 500):  # SQLite bounds the number of parameters
        some = LOOKS.c.part.in_(wanted[start : start + 500])
        query = sa.select(LOOKS.c.part, LOOKS.c.picture).where(some)
        rows += [(row.part, row.picture) for row in connection.execute(query)]
    return rows


@lru_cache(maxsize=KEPT)
def look_of(name: str, code: str, picture: bytes) -> Look:
    """The features of a part's kept picture."""
    return look(opened(picture))


def _keep(catalogue: Catalogue, code: str, pairs: Sequence[tuple[str, float]]) -> None:
    """Write what was found for one part; what a person said of a pair stays."""
    with catalogue.write() as connection:
        for other, likeness in pairs:
            low, high = sorted((code, other))
            here = (PAIRS.c.part == low) & (PAIRS.c.other == high)
            change = sa.update(PAIRS).where(here).values(likeness=likeness)
            if not connection.execute(change).rowcount:
                connection.execute(sa.insert(PAIRS).values(_row(low, high, likeness)))
        done = sa.update(LOOKS).where(LOOKS.c.part == code).values(compared=1)
        connection.execute(done)


def _row(low: str, high: str, likeness: float) -> dict[str, Any]:
    row = {"part": low, "other": high, "likeness": likeness, "said": "", "person": ""}
    return row | {"made_at": now(), "gone": "", "pieces": 0}


def doubles(catalogue: Catalogue, settled: bool = False, bin: str = "") -> list[Double]:
    """Pairs that look like one part, most alike first.

    Args:
        catalogue: which.
        settled: those that a person settled, too.
        bin: only those of which one lies there.
    """
    query = sa.select(PAIRS).order_by(PAIRS.c.likeness.desc(), PAIRS.c.part, PAIRS.c.other)
    if not settled:
        query = query.where(PAIRS.c.said == "")
    listed = []
    with catalogue.read() as connection:
        for row in connection.execute(query).all():
            part, other = found(connection, row.part), found(connection, row.other)
            if bin and bin not in (part.bin, other.bin):
                continue
            if row.said == "" and not (part.quantity and other.quantity):
                continue  # one of them is gone anyway
            listed.append(Double(part, other, row.likeness, row.said, row.gone))
    return listed


def waiting_doubles(catalogue: Catalogue) -> int:
    """How many pairs a person has not settled."""
    return len(doubles(catalogue))


def say(catalogue: Catalogue, code: str, other: str, said: str, person: str = "") -> Double:
    """A person says whether two parts are the same one.

    With 'same' the one that came in later no longer counts: its pieces go to 0, everything else
    of it stays. 'different' takes that back.

    Args:
        catalogue: which.
        code: one of them.
        other: the other one.
        said: same or different.
        person: who says so.

    Raises:
        InputError: no such part, twice the same code, or another word.
    """
    low, high = sorted((codes.tidy(code), codes.tidy(other)))
    if low == high:
        raise InputError("twice the same code", "give the codes of two parts")
    if said not in (SAME, DIFFERENT):
        raise InputError(f"{said!r} is no word on two parts", f"say {SAME} or {DIFFERENT}")

    def act() -> Double:
        with catalogue.write() as connection:
            return _say(connection, low, high, said, person)

    return try_again(act, catalogue.name)


def _say(connection: Connection, low: str, high: str, said: str, person: str) -> Double:
    pair = locked(connection, low), locked(connection, high)
    here = (PAIRS.c.part == low) & (PAIRS.c.other == high)
    row = connection.execute(sa.select(PAIRS).where(here)).first()
    if row is None:
        connection.execute(sa.insert(PAIRS).values(_row(low, high, 0.0)))
    gone, pieces = (row.gone, row.pieces) if row is not None else ("", 0)
    if said == SAME and not gone:
        last = max(pair, key=lambda one: (not one.settled, one.arrived, one.code))
        gone, pieces = last.code, last.quantity
        apply_changes(connection, last, {"quantity": 0}, person)
    elif said == DIFFERENT and gone:
        back = next(one for one in pair if one.code == gone)
        apply_changes(connection, back, {"quantity": pieces or 1}, person)
        gone, pieces = "", 0
    values = {"said": said, "person": person, "made_at": now(), "gone": gone, "pieces": pieces}
    connection.execute(sa.update(PAIRS).where(here).values(**values))
    for one, two in (pair, pair[::-1]):
        what = "same as" if said == SAME else "not the same as"
        note_down(connection, one.code, what, codes.pretty(two.code), person)
    likeness = row.likeness if row is not None else 0.0
    return Double(found(connection, low), found(connection, high), likeness, said, gone)


def side_by_side(catalogue: Catalogue, code: str, other: str) -> bytes | None:
    """Both pictures, one above the other, as PNG; None where neither was kept."""
    import cv2
    import numpy as np

    with catalogue.read() as connection:
        wanted = [codes.tidy(code), codes.tidy(other)]
        kept = dict(_pictures(connection, wanted))
    shown = [opened(kept[one]) for one in wanted if one in kept]
    if not shown:
        return None
    wide = max(one.shape[1] for one in shown)
    rows = [np.pad(one, ((0, 6), (0, wide - one.shape[1])), constant_values=255) for one in shown]
    return bytes(cv2.imencode(".png", np.vstack(rows))[1].tobytes())
