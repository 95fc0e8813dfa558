"""Names of depots, bins and shelves that hold something, and what was meant by another name."""

from __future__ import annotations

import sqlalchemy as sa

from reader.catalogue.cells import one_of
from reader.catalogue.columns import KINDS, STATES
from reader.catalogue.db.parts import PARTS
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError

PLACES = ("depot", "bin", "shelf")


def names_of(catalogue: Catalogue, column: str) -> list[str]:
    """All names in use in a column of `PLACES`, in order."""
    c = PARTS.c[column]
    with catalogue.read() as connection:
        return sorted(connection.scalars(sa.select(c).where(c != "").distinct()))


def assure_known(catalogue: Catalogue, **asked: str) -> None:
    """Make sure that what is asked for can be found at all; '' asks for nothing.

    Args:
        catalogue: which.
        **asked: kind, state, or a column of `PLACES` with the name that shall be there.

    Raises:
        InputError: there is no such kind, state or place; the remedy names those near.
    """
    fixed = {"kind": KINDS, "state": STATES}
    for column, name in asked.items():
        if not name:
            continue
        known = fixed.get(column) or names_of(catalogue, column)
        if name in known:
            continue
        if not known:
            raise InputError(f"no part has a {column}", f"leave --{column} out")
        one_of(f"no {column}", name, known)
        raise InputError(f"no {column} {name!r}", "mind capitals and small letters")
