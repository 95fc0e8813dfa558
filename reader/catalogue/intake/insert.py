"""Writing one part with its photos and its reading, in one transaction."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import astuple
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import Part, new_part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.parts import (
    PARTS,
    is_settled,
    locked,
    next_number,
    note_down,
    now,
    part_of,
    refresh_gain,
    set_shares,
    try_again,
)
from reader.catalogue.db.records import Arrival, Failure, Findings, PhotoRef
from reader.catalogue.db.store import Catalogue
from reader.report import percent

PHOTOS = schema.photos
SAME_PART_HOURS = 12  # between an old and a new photo under one name, else it is another part


def record(catalogue: Catalogue, arrival: Arrival, again: bool = False) -> str:
    """Write a part as it came in; a second time with the same photos changes nothing.

    Args:
        catalogue: where to.
        arrival: the part.
        again: write the reading even if these photos were read before.

    Returns:
        The part's code.

    Raises:
        CatalogueError: it could not be written; nothing of it was.
    """

    def act() -> str:
        with catalogue.write() as connection:
            return _record(connection, arrival, again)

    return try_again(act, catalogue.name)


def _record(connection: Connection, arrival: Arrival, again: bool) -> str:
    part = match(connection, arrival)
    digests = {photo.digest for photo in arrival.photos}
    if part is not None and not again and digests and digests <= known(connection, part.code):
        return part.code
    code = part.code if part is not None else _new_part(connection, arrival)
    _write_photos(connection, code, arrival)
    if arrival.findings is not None:
        _write_reading(connection, code, arrival, arrival.findings, part)
    elif arrival.failures:
        _unreadable(connection, code, arrival, part)
    refresh_gain(connection, code)
    return code


def known(connection: Connection, code: str) -> set[str]:
    """Digests of the photos that the part's reading covers; replaced ones no longer count."""
    query = sa.select(PHOTOS.c.digest).where(PHOTOS.c.part == code, PHOTOS.c.state != "replaced")
    return set(connection.scalars(query))


def match(connection: Connection, arrival: Arrival) -> Part | None:
    """The part that these photos belong to, if it is in the catalogue already."""
    clauses = []
    if arrival.code is not None:
        clauses.append(PARTS.c.code == arrival.code)
    digests = [photo.digest for photo in arrival.photos]
    owners = sa.select(PHOTOS.c.part).where(PHOTOS.c.digest.in_(digests))
    if arrival.code is None:
        clauses.append(PARTS.c.code.in_(owners))
        if arrival.source is not None:
            clauses.append(PARTS.c.source == arrival.source)
    for clause in clauses:
        query = sa.select(PARTS).where(clause).order_by(PARTS.c.code).with_for_update()
        row = connection.execute(query).mappings().first()
        if row is not None and not _another(connection, part_of(row), arrival):
            return part_of(row)
    return None


def _another(connection: Connection, part: Part, arrival: Arrival) -> bool:
    """Whether a folder's name was used again for another part (camera cards do that)."""
    if part.state == "again" or arrival.code is not None:
        return False
    query = sa.select(PHOTOS.c.digest, PHOTOS.c.taken).where(PHOTOS.c.part == part.code)
    old = {row.digest: row.taken for row in connection.execute(query)}
    if any(photo.digest in old for photo in arrival.photos):
        return False
    times = sorted(filter(None, old.values()))
    new = sorted(photo.taken for photo in arrival.photos if photo.taken)
    if not times or not new:
        return False
    apart = datetime.fromisoformat(new[0]) - datetime.fromisoformat(times[-1])
    return abs(apart.total_seconds()) > SAME_PART_HOURS * 3600


def _new_part(connection: Connection, arrival: Arrival) -> str:
    if arrival.source is not None:  # a name used again: it now means the new part
        old = sa.update(PARTS).where(PARTS.c.source == arrival.source).values(source=None)
        connection.execute(old)
    digests = sorted(photo.digest for photo in arrival.photos)
    code = arrival.code or (codes.code_of(digests[0]) if digests else codes.new_code())
    values = new_part(
        code=code,
        source=arrival.source,
        kind=arrival.kind,
        bin=arrival.place.bin,
        shelf=arrival.place.shelf,
        depot=arrival.place.depot,
        arrived=arrival.arrived or now()[:10],
    )
    connection.execute(sa.insert(PARTS).values({**values, **arrival.said}))
    place = (arrival.place.depot, arrival.place.bin, arrival.place.shelf)
    note_down(connection, code, "came in", " ".join(filter(None, place)), arrival.person)
    return code


def _write_photos(connection: Connection, code: str, arrival: Arrival) -> None:
    paths = [photo.path for photo in arrival.photos]
    mine = set(connection.scalars(sa.select(PHOTOS.c.digest).where(PHOTOS.c.part == code)))
    replaced = (
        sa.update(PHOTOS)
        .where(PHOTOS.c.part == code, PHOTOS.c.path.in_(paths))
        .where(PHOTOS.c.digest.not_in([photo.digest for photo in arrival.photos]))
    )
    connection.execute(replaced.values(state="replaced"))
    for photo in sorted(arrival.photos, key=lambda photo: photo.digest):
        values = _photo_row(code, photo, arrival.failures.get(photo.digest))
        if photo.digest in mine:
            change = sa.update(PHOTOS).where(PHOTOS.c.digest == photo.digest)
            connection.execute(change.values(values))
        else:
            connection.execute(sa.insert(PHOTOS).values(values))


def _photo_row(code: str, photo: PhotoRef, failure: Failure | None) -> dict[str, str]:
    return {
        "digest": photo.digest,
        "part": code,
        "name": photo.name,
        "path": photo.path,
        "taken": photo.taken,
        "state": "failed" if failure else "read",
        "reason": failure.reason if failure else "",
        "remedy": failure.remedy if failure else "",
    }


def _unreadable(connection: Connection, code: str, arrival: Arrival, part: Part | None) -> None:
    reasons = "; ".join(sorted({failure.reason for failure in arrival.failures.values()}))
    note_down(connection, code, "could not be read", reasons)
    if part is None:  # an older reading, if there is one, still counts
        change = sa.update(PARTS).where(PARTS.c.code == code)
        connection.execute(change.values(state="again"))


def _write_reading(
    connection: Connection, code: str, arrival: Arrival, findings: Findings, part: Part | None
) -> None:
    read = [photo.digest for photo in arrival.photos if photo.digest not in arrival.failures]
    facts = {**findings.facts, "rim_kind": findings.rim_kind, "tube_label": findings.tube_label}
    _keep_facts(connection, code, facts)
    values = {
        "part": code,
        "number": next_number(connection, schema.readings, code),
        "photos": " ".join(sorted(read)),
        "verdict": findings.verdict,
        "shares": json.dumps([astuple(share) for share in findings.shares]),
        "document": findings.document,
        "strip": findings.strip,
        "seconds": findings.seconds,
        "made_at": now(),
        "facts": json.dumps(facts, sort_keys=True),
        "engines": findings.engines,
        "wanting": findings.wanting,
        **findings.apart,
    }
    connection.execute(sa.insert(schema.readings).values(values))
    _keep_looks(connection, code, findings.around)
    note_down(connection, code, "read", summary(findings))
    if findings.split:
        note_down(connection, code, "two parts?", findings.split)
    if part is not None and is_settled(part):
        _weigh_against_person(connection, part, findings)
        return
    best = findings.shares[0] if findings.shares else None
    kind = findings.kind if arrival.kind == "unknown" else arrival.kind
    effective = {
        "kind": kind if part is None or part.kind == "unknown" else part.kind,
        "bsd": best.bsd if best else None,
        "width": best.width if best else None,
        "probability": best.probability if best else 0.0,
        "verdict": findings.verdict,
        "state": "foreign" if findings.foreign else "open",
        **findings.apart,
    }
    connection.execute(sa.update(PARTS).where(PARTS.c.code == code).values(**effective))
    set_shares(connection, code, findings.shares)
    if findings.foreign:
        note_down(connection, code, "foreign", findings.foreign)


def _keep_looks(connection: Connection, code: str, picture: bytes | None) -> None:
    """By what the part is known again; a reading without a place leaves the older picture."""
    if picture is not None:
        table = schema.looks
        connection.execute(sa.delete(table).where(table.c.part == code))
        row = {"part": code, "picture": picture, "compared": 0}
        connection.execute(sa.insert(table).values(row))


def _keep_facts(connection: Connection, code: str, facts: Mapping[str, Any]) -> None:
    """Fill in what the part says of itself; what a person said instead stays."""
    r = schema.readings.c
    newest = sa.select(r.facts).where(r.part == code).order_by(r.number.desc()).limit(1)
    text = connection.scalar(newest)
    # Before facts were kept, the edge and the label were the reading's.
    before = json.loads(text) if text else {}
    by_reading = text == ""
    part = locked(connection, code)
    changes = {}
    for name, value in facts.items():
        old = getattr(part, name)
        mine = old in (None, "") or old == before.get(name) or by_reading
        if mine and old != value:
            changes[name] = value
    if changes:
        connection.execute(sa.update(PARTS).where(PARTS.c.code == code).values(**changes))


def _weigh_against_person(connection: Connection, part: Part, findings: Findings) -> None:
    """A person's word stays; a diameter read sure that is another puts the part up for review."""
    best = findings.shares[0] if findings.shares else None
    if best is None or findings.bsd_verdict != "sure" or best.bsd == part.bsd:
        return
    told = best.size if findings.verdict == "sure" else f"{best.bsd} mm"
    change = sa.update(PARTS).where(PARTS.c.code == part.code)
    unsure = dict.fromkeys(("verdict", "bsd_verdict", "width_verdict"), "can't tell")
    connection.execute(change.values(state="doubted", **unsure))
    note_down(connection, part.code, "doubted", f"a later photo reads {told} for sure")


def summary(findings: Findings) -> str:
    """One line: the best size and how sure.

    >>> summary(Findings("none", "unknown", (), "{}"))
    'none'
    """
    if not findings.shares:
        return findings.verdict
    best = findings.shares[0]
    return f"{findings.verdict}: {best.size} ({percent(best.probability)})"
