"""What is left to read: groups less what the catalogue knows already."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.db import schema
from reader.catalogue.db.store import Catalogue
from reader.catalogue.intake.files import SeenFile
from reader.catalogue.intake.group import Group, LeftOut
from reader.language import N_

PHOTOS, PARTS = schema.photos, schema.parts
AT_ONCE = 500  # SQLite bounds the number of parameters


@dataclass(frozen=True)
class Owner:
    """Where a photo's content is in the catalogue already."""

    code: str
    source: str | None
    path: str
    state: str  # read, failed, replaced


@dataclass(frozen=True)
class Plan:
    """What to read, and what not."""

    groups: list[Group]
    same: list[LeftOut]  # photos whose content is elsewhere already
    known: int  # parts that need no reading
    anew: frozenset[str] = frozenset()  # sources that an engine could not read before


def make_plan(
    catalogue: Catalogue,
    groups: Sequence[Group],
    again: bool = False,
    retry: bool = False,
    working: Collection[str] = (),
) -> Plan:
    """Drop what is there already: by content, so that names and order don't matter.

    Args:
        catalogue: which.
        groups: sorted by source.
        again: read groups once more of which all photos are known.
        retry: read groups once more in which a photo failed.
        working: engines; groups whose newest reading lacked one of them are read once more.
    """
    digests = {file.digest for item in groups for file in item.files}
    with catalogue.read() as connection:
        owners = _owners(connection, sorted(digests))
        lacking = _lacking(connection, working)
    _refresh_paths(catalogue, groups, owners)
    seen: dict[str, SeenFile] = {}
    plan = Plan([], [], 0)
    known = 0
    anew: set[str] = set()
    for item in groups:
        own: list[SeenFile] = []
        for file in item.files:
            other = _elsewhere(file, item, seen, owners)
            if other:
                plan.same.append(LeftOut(str(file.path), N_(f"the same photo as {other}")))
            else:
                own.append(file)
                seen[file.digest] = file
        if any(file.digest in owners and owners[file.digest].code in lacking for file in own):
            anew.add(item.source)
        fresh = again or item.source in anew
        if own and (fresh or any(_is_new(file, owners, retry) for file in own)):
            plan.groups.append(replace(item, files=tuple(own)))
        elif own:
            known += 1
    return replace(plan, known=known, anew=frozenset(anew))


def _lacking(connection: Connection, working: Collection[str]) -> set[str]:
    """Codes of parts whose newest reading was made while an engine was missing that now works."""
    r = schema.readings.c
    newest = sa.select(r.part, sa.func.max(r.number).label("number")).group_by(r.part).subquery()
    same = sa.and_(newest.c.part == r.part, newest.c.number == r.number)
    query = sa.select(r.part, r.wanting).join(newest, same).where(r.wanting != "")
    return {
        row.part for row in connection.execute(query) if set(row.wanting.split()) & set(working)
    }


def _is_new(file: SeenFile, owners: dict[str, Owner], retry: bool) -> bool:
    owner = owners.get(file.digest)
    return owner is None or owner.state == "replaced" or (retry and owner.state == "failed")


def _elsewhere(
    file: SeenFile, item: Group, seen: dict[str, SeenFile], owners: dict[str, Owner]
) -> str:
    """Path of the photo with the same content that came first; '' if this is the first."""
    if file.digest in seen:
        return str(seen[file.digest].path)
    owner = owners.get(file.digest)
    if owner is None or owner.source == item.source or owner.code == item.code:
        return ""
    mine = any(str(other.path) == owner.path for other in item.files)
    return "" if mine or not Path(owner.path).exists() else owner.path


def _owners(connection: Connection, digests: Sequence[str]) -> dict[str, Owner]:
    found: dict[str, Owner] = {}
    for start in range(0, len(digests), AT_ONCE):
        query = (
            sa.select(PHOTOS.c.digest, PARTS.c.code, PARTS.c.source, PHOTOS.c.path, PHOTOS.c.state)
            .join_from(PHOTOS, PARTS)
            .where(PHOTOS.c.digest.in_(digests[start : start + AT_ONCE]))
        )
        for digest, *rest in connection.execute(query):
            found[digest] = Owner(*rest)
    return found


def _refresh_paths(catalogue: Catalogue, groups: Sequence[Group], owners: dict[str, Owner]) -> None:
    """Learn the new place of photos that were moved."""
    moved = [
        {"old": file.digest, "path": str(file.path), "name": file.path.name}
        for item in groups
        for file in item.files
        if file.digest in owners
        and owners[file.digest].path != str(file.path)
        and not Path(owners[file.digest].path).exists()
    ]
    if moved:
        change = sa.update(PHOTOS).where(PHOTOS.c.digest == sa.bindparam("old"))
        change = change.values(path=sa.bindparam("path"), name=sa.bindparam("name"))
        with catalogue.write() as connection:
            connection.execute(change, moved)
