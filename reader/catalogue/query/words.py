"""Parts by a text that somebody remembers: each place where it may stand by an index of its own."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import CONDITIONS
from reader.catalogue.db.parts import PARTS

# As the index says it: with a bound value in its place, SQLite could not know that it serves.
NOTED = sa.text("parts.note <> ''")
AFTER = "\x7f"  # sorts after every sign of a code


def worded(connection: Connection, text: str) -> sa.ColumnElement[bool]:
    """Whether a part's note or condition holds the text, or its code begins with it."""
    c = PARTS.c
    # SQLite's LIKE takes capitals as small letters by itself, and three times faster.
    how = "contains" if connection.dialect.name == "sqlite" else "icontains"
    noted = getattr(c.note, how)(text, autoescape=True)
    conditions = [one for one in CONDITIONS if text.lower() in one]
    if conditions:
        such = c.condition.in_(conditions)
        if connection.scalar(sa.select(c.code).where(such).limit(1)) is not None:
            return sa.or_(noted, such)  # common: a walk by place meets enough of them soon
    found: list[sa.Select[Any]] = [sa.select(c.code).where(NOTED, noted)]
    code = text.replace("-", "").replace(" ", "").upper()
    if code:
        found.append(sa.select(c.code).where(c.code >= code, c.code < code + AFTER))
    return c.code.in_(sa.union(*found))
