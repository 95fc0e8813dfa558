"""What a person should look at, in the order in which each minute settles most."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import Part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.parts import PARTS, found, part_of, shares_of
from reader.catalogue.db.records import Share
from reader.catalogue.db.store import Catalogue

MAYBE_SETTLED = 0.3  # bits x quantity a minute: below that, as for one at 99.7 %, a look is wasted


@dataclass(frozen=True)
class ReviewItem:
    """One part to look at."""

    part: Part
    shares: tuple[Share, ...]  # what it may be, most probable first
    strip: bytes | None  # PNG of the straightened marking
    photos: tuple[str, ...]  # paths
    document: dict[str, Any]  # the newest reading, as `findings_of` keeps it


def review_queue(catalogue: Catalogue, limit: int = 20, bin: str = "") -> list[ReviewItem]:
    """What to look at, in the order in which each minute settles most.

    Args:
        catalogue: which.
        limit: at most so many items.
        bin: only parts in this bin, '' for all.
    """
    c = PARTS.c
    query = sa.select(PARTS).where(
        c.state.in_(("open", "doubted")), c.quantity > 0, c.gain > MAYBE_SETTLED
    )
    if bin:
        query = query.where(c.bin == bin)
    query = query.order_by(c.gain.desc(), c.code).limit(limit)
    with catalogue.read() as connection:
        rows = connection.execute(query).mappings().all()
        return [_item(connection, part_of(row)) for row in rows]


def review_item(catalogue: Catalogue, code: str) -> ReviewItem:
    """One part with all that a person needs to judge it.

    Raises:
        InputError: there is no such part.
    """
    with catalogue.read() as connection:
        return _item(connection, found(connection, codes.tidy(code)))


def waiting(catalogue: Catalogue) -> dict[str, int]:
    """How many parts are in each state, and under 'queue' how many a look would help."""
    c = PARTS.c
    states = (
        sa.select(c.state, sa.func.count().label("parts")).where(c.quantity > 0).group_by(c.state)
    )
    queue = sa.select(sa.func.count()).where(
        c.state.in_(("open", "doubted")), c.quantity > 0, c.gain > MAYBE_SETTLED
    )
    with catalogue.read() as connection:
        counts = {row.state: int(row.parts) for row in connection.execute(states.group_by(c.state))}
        counts["queue"] = int(connection.scalar(queue) or 0)
    return counts


def _item(connection: Connection, part: Part) -> ReviewItem:
    r, p = schema.readings.c, schema.photos.c
    query = sa.select(r.document, r.strip).where(r.part == part.code).order_by(r.number.desc())
    newest = connection.execute(query.limit(1)).first()
    paths = sa.select(p.path).where(p.part == part.code, p.state == "read").order_by(p.path)
    return ReviewItem(
        part=part,
        shares=shares_of(connection, part.code),
        strip=newest.strip if newest else None,
        photos=tuple(connection.scalars(paths)),
        document=json.loads(newest.document) if newest else {},
    )
