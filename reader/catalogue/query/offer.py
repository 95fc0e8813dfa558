"""Which parts are offered to somebody who looks for one, and how old they are."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from reader.catalogue.columns import KEPT_BACK, Part
from reader.catalogue.db.parts import PARTS
from reader.language import N_

# Years from which age is said: common practice, no source.
OLD, VERY_OLD = 6, 10


def offered(
    all_conditions: bool, depot: str = "", hub: int | None = None
) -> list[sa.ColumnElement[bool]]:
    """What a part must be to be offered; rejects and the like only if they are asked for.

    With the holes of a `hub`, rims with another number are left out: each spoke of a hub needs a
    hole of the rim. Rims whose holes nobody counted are kept.
    """
    c = PARTS.c
    clauses = [c.quantity > 0, c.state != "foreign"]
    if not all_conditions:
        clauses.append(c.condition.not_in(KEPT_BACK))
    if depot:
        clauses.append(c.depot == depot)
    if hub is not None:
        clauses.append(sa.or_(c.kind != "rim", c.holes.is_(None), c.holes == hub))
    return clauses


def age(part: Part, today: date | None = None) -> int | None:
    """Whole years since the part was made; None if that is not known."""
    if not part.made:
        return None
    today = today or date.today()
    year, _, week = part.made.partition("-W")
    if week:
        born = date.fromisocalendar(int(year), min(int(week), 52), 1)
        return max(0, (today - born).days * 100 // 36525)
    return max(0, today.year - int(year) - 1)  # of the year's last day, to claim no more


def age_words(part: Part, today: date | None = None) -> str:
    """What is to be said about a part's age; '' if nothing.

    >>> from types import SimpleNamespace as Some
    >>> age_words(Some(made="2012", kind="tyre"), date(2026, 3, 1))
    'made 2012, over 10 years old: rubber hardens, look for cracks'
    """
    years = age(part, today)
    if years is None:
        return ""
    if part.kind == "rim" or years < OLD:
        return N_(f"made {part.made}")
    over = VERY_OLD if years >= VERY_OLD else OLD
    return N_(f"made {part.made}, over {over} years old: rubber hardens, look for cracks")
