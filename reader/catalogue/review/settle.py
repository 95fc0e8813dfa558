"""What a person says of a part; the machine's reading stays beside it."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.cells import one_of
from reader.catalogue.columns import KINDS, Part
from reader.catalogue.db import codes, schema
from reader.catalogue.db.parts import (
    PARTS,
    locked,
    next_number,
    note_down,
    now,
    refresh_gain,
    set_shares,
    shares_of,
)
from reader.catalogue.db.records import Share, as_whole
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError
from reader.records import Size


def accept(catalogue: Catalogue, code: str, rank: int = 1, person: str = "") -> Part:
    """A person says that one of the candidates is right.

    Args:
        catalogue: which.
        code: the part's.
        rank: which candidate, 1 is the first.
        person: who says so.

    Raises:
        InputError: no such part or candidate.
    """
    code = codes.tidy(code)
    with catalogue.write() as connection:
        shares = shares_of(connection, code)
        if not 1 <= rank <= len(shares):
            raise InputError(f"there is no candidate {rank}", f"choose 1 to {len(shares)}")
        return settle(connection, code, "accepted", shares[rank - 1], "", person)


def correct(
    catalogue: Catalogue,
    code: str,
    size: Size,
    kind: str = "",
    text: str = "",
    person: str = "",
    rim_kind: str = "",
) -> Part:
    """A person says what the part is; the machine's reading stays in the catalogue.

    Args:
        catalogue: which.
        code: the part's.
        size: the right size, mm; width None if it can't be told.
        kind: tyre, rim, tube; '' leaves it as it is.
        text: the marking as the person reads it, letter by letter; '' if not told.
        person: who says so.
        rim_kind: edge of a rim: C, SS, TSS, TC, HB, TUBULAR; '' leaves it as it is.

    Raises:
        InputError: no such part, or a size or kind that makes no sense.
    """
    check_size(size)
    code = codes.tidy(code)
    with catalogue.write() as connection:
        kind = kind or locked(connection, code).kind
        kind = one_of("no kind of part", kind, KINDS)
        if rim_kind:
            connection.execute(_change(code, rim_kind=rim_kind))
        share = Share(kind, size.bsd, size.width, 1.0)
        return settle(connection, code, "corrected", share, text, person)


def check_size(size: Size) -> None:
    """Refuse what can't be millimetres of a bicycle part, and a diameter that no table knows.

    Raises:
        InputError: with the reason.
    """
    from reader.names.suggest import near_diameters
    from reader.tables import load_tables

    remedy = "give millimetres, as in 47-507"
    if not 90 <= size.bsd <= 800:
        raise InputError(f"a bead seat diameter of {size.bsd} mm", remedy)
    if size.width is not None and not 8 <= size.width <= 150:
        raise InputError(f"a width of {size.width:g} mm", remedy)
    if size.bsd not in load_tables().seat:
        raise near_diameters(size.bsd, load_tables())


def photograph_again(catalogue: Catalogue, code: str, person: str = "") -> Part:
    """A person says that the photos show too little; it leaves the queue until new ones come."""
    with catalogue.write() as connection:
        part = locked(connection, codes.tidy(code))
        connection.execute(_change(part.code, state="again"))
        return _said(connection, part.code, "again", None, "", person)


def skip(catalogue: Catalogue, code: str, person: str = "") -> Part:
    """A person leaves it for later; it comes back at half the rank."""
    with catalogue.write() as connection:
        part = locked(connection, codes.tidy(code))
        connection.execute(_change(part.code, skips=part.skips + 1))
        return _said(connection, part.code, "skipped", None, "", person)


def reopen(catalogue: Catalogue, code: str, person: str = "") -> Part:
    """Take a person's word back: the newest reading counts again.

    Raises:
        InputError: no such part, or it was never read.
    """
    code = codes.tidy(code)
    r = schema.readings.c
    query = sa.select(schema.readings).where(r.part == code).order_by(r.number.desc())
    with catalogue.write() as connection:
        part = locked(connection, code)
        newest = connection.execute(query.limit(1)).first()
        if newest is None:
            remedy = "there is only a person's word; correct it instead"
            raise InputError(f"part {codes.pretty(code)} was never read", remedy)
        shares = tuple(Share(*share) for share in json.loads(newest.shares))
        best = shares[0] if shares else Share(part.kind, 0, None, 0.0)
        told = as_whole(shares, newest.verdict)["bsd_probability"]
        connection.execute(
            _change(
                code,
                state="open",
                bsd=best.bsd or None,
                width=best.width,
                probability=best.probability,
                verdict=newest.verdict,
                bsd_verdict=newest.bsd_verdict if shares else "none",
                bsd_probability=max(told, newest.bsd_probability),
                width_verdict=newest.width_verdict if best.width is not None else "none",
            )
        )
        set_shares(connection, code, shares)
        return _said(connection, code, "reopened", None, "", person)


def set_aside(catalogue: Catalogue, code: str, person: str = "") -> Part:
    """A person says that it is no part of a bicycle; it is not offered, nor asked about."""
    with catalogue.write() as connection:
        part = locked(connection, codes.tidy(code))
        connection.execute(_change(part.code, state="foreign"))
        return _said(connection, part.code, "foreign", None, "", person)


def _change(code: str, **values: Any) -> sa.Update:
    return sa.update(PARTS).where(PARTS.c.code == code).values(**values)


def settle(
    connection: Connection, code: str, action: str, share: Share, text: str, person: str
) -> Part:
    """Make a person's word count, within a transaction."""
    said = Share(share.kind, share.bsd, share.width, 1.0)
    connection.execute(
        _change(
            locked(connection, code).code,
            state=action,
            kind=share.kind,
            bsd=share.bsd,
            width=share.width,
            probability=1.0,
            **as_whole((said,), "sure"),
        )
    )
    set_shares(connection, code, (said,))
    return _said(connection, code, action, share, text, person)


def _said(
    connection: Connection, code: str, action: str, share: Share | None, text: str, person: str
) -> Part:
    """Keep what a person said, beside the reading it is about."""
    readings = schema.readings.c
    newest = sa.select(sa.func.max(readings.number)).where(readings.part == code)
    values = {
        "part": code,
        "number": next_number(connection, schema.corrections, code),
        "reading": connection.scalar(newest),
        "action": action,
        "kind": share.kind if share else "",
        "bsd": share.bsd if share else None,
        "width": share.width if share else None,
        "text": text,
        "person": person,
        "made_at": now(),
    }
    connection.execute(sa.insert(schema.corrections).values(values))
    note_down(connection, code, action, str(share.size) if share else "", person)
    refresh_gain(connection, code)
    return locked(connection, code)
