"""What is missing: what people asked for, and what would complete wheels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from reader.catalogue.columns import KINDS
from reader.catalogue.db import schema
from reader.catalogue.db.parts import PARTS, now
from reader.catalogue.db.store import Catalogue
from reader.catalogue.query.tally import distribution
from reader.catalogue.query.wheels import pairs
from reader.catalogue.review.settle import check_size
from reader.errors import InputError
from reader.language import N_
from reader.records import Size
from reader.tables import Tables

WANTED, CANDIDATES = schema.wanted, schema.candidates


@dataclass(frozen=True)
class Wish:
    """Something asked for."""

    number: int
    kind: str
    bsd: int  # mm
    width_min: float | None  # mm
    width_max: float | None
    quantity: int
    note: str

    @property
    def what(self) -> str:
        """The size or sizes that will do."""
        if self.width_min is None:
            return N_(f"{self.bsd} mm, any width")
        if self.width_min == self.width_max:
            return str(Size(self.bsd, self.width_min))
        return N_(f"{self.bsd} mm, {self.width_min:g} to {self.width_max:g} mm wide")

    def __str__(self) -> str:
        return f"{self.kind} {self.what}"


@dataclass(frozen=True)
class Gap:
    """A wish and how far the catalogue can serve it."""

    wish: Wish
    expected: float  # matching pieces, by probability
    chance: float  # that there are enough

    @property
    def missing(self) -> float:
        """Pieces that are expected to be lacking."""
        return max(0.0, self.wish.quantity - self.expected)


def ask_for(
    catalogue: Catalogue,
    kind: str,
    bsd: int,
    width: tuple[float, float] | None = None,
    quantity: int = 1,
    note: str = "",
) -> int:
    """Note down that someone asks for a part; gives the wish's number.

    Raises:
        InputError: a kind or number that makes no sense.
    """
    if kind not in KINDS[:3]:
        raise InputError(f"{kind!r} can't be asked for", "ask for a tyre, a rim or a tube")
    for end in width or (None,):
        check_size(Size(bsd, end))
    if quantity < 1:
        raise InputError(f"a quantity of {quantity}", "ask for 1 or more")
    low, high = width or (None, None)
    values = {
        "kind": kind,
        "bsd": bsd,
        "width_min": low,
        "width_max": high,
        "quantity": quantity,
        "note": note,
        "made_at": now(),
    }
    with catalogue.write() as connection:
        query = sa.insert(WANTED).values(values).returning(WANTED.c.number)
        return int(connection.execute(query).scalar_one())


def done_with(catalogue: Catalogue, number: int) -> None:
    """Strike a wish.

    Raises:
        InputError: there is none with that number.
    """
    with catalogue.write() as connection:
        query = sa.delete(WANTED).where(WANTED.c.number == number).returning(WANTED.c.number)
        if connection.execute(query).first() is None:
            raise InputError(f"nothing is asked for under number {number}", "see: tyremark missing")


def gaps(catalogue: Catalogue) -> list[Gap]:
    """All wishes, those that lack most first."""
    query = sa.select(WANTED).order_by(WANTED.c.number)
    with catalogue.read() as connection:
        rows = connection.execute(query).mappings().all()
        wishes = [Wish(**{k: v for k, v in row.items() if k != "made_at"}) for row in rows]
        found = [_gap(connection, wish) for wish in wishes]
    return sorted(found, key=lambda gap: (-gap.missing, gap.chance, gap.wish.number))


def _gap(connection: Connection, wish: Wish) -> Gap:
    p, c = PARTS.c, CANDIDATES.c
    chance = sa.func.sum(c.probability).label("chance")
    query = (
        sa.select(chance, p.quantity)
        .join_from(CANDIDATES, PARTS, c.part == p.code)
        .where(c.bsd == wish.bsd, c.kind == wish.kind, p.quantity > 0)
        .group_by(p.code, p.quantity)
    )
    if wish.width_min is not None:
        query = query.where(c.width.between(wish.width_min, wish.width_max))
    cells = [(min(1.0, row.chance), int(row.quantity), 1) for row in connection.execute(query)]
    expected = sum(share * quantity for share, quantity, _ in cells)
    return Gap(wish, round(expected, 4), _enough(cells, wish.quantity))


def _enough(cells: Sequence[tuple[float, int, int]], need: int) -> float:
    """Chance of at least so many; the surest parts first, as more can only help."""
    best = sorted(cells, reverse=True)
    sure = sum(q for share, q, _ in best if share >= 1 - 1e-9)
    if sure >= need:
        return 1.0
    unsure = [cell for cell in best if cell[0] < 1 - 1e-9][:200]
    return float(distribution(unsure)[need - sure :].sum())


def for_wheels(catalogue: Catalogue, tables: Tables, bin: str = "") -> list[tuple[str, Size, int]]:
    """What would complete wheels: (what is missing, the size it must suit, how many).

    A rim that stays alone misses a tyre, a tyre misses a rim.
    """
    other = {"rim": "tyre", "tyre": "rim"}
    _, alone = pairs(catalogue, tables, bin)
    return [(other[one.kind], one.size, one.pieces) for one in alone]
