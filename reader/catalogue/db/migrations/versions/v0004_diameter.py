"""How sure diameter and width are, each alone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

SETTLED = ("accepted", "corrected")


def upgrade() -> None:
    """Add the columns; of what is there, diameter and width are as sure as the whole size was."""
    for table in ("parts", "readings"):
        for name in ("bsd_verdict", "width_verdict"):
            op.add_column(table, sa.Column(name, sa.Text, nullable=False, server_default="none"))
        share = sa.Column("bsd_probability", sa.Float, nullable=False, server_default="0")
        op.add_column(table, share)
    _parts()
    readings = sa.table("readings", *map(sa.column, ("verdict", "bsd_verdict", "width_verdict")))
    verdict = readings.c.verdict
    op.execute(sa.update(readings).values(bsd_verdict=verdict, width_verdict=verdict))
    columns = ["bsd_verdict", "bsd", "kind", "width_verdict"]
    op.create_index("parts_by_open_width", "parts", columns)


def _parts() -> None:
    names = (
        "code", "bsd", "width", "verdict", "state", "bsd_verdict", "bsd_probability",
        "width_verdict",
    )  # fmt: skip
    table = sa.table("parts", *map(sa.column, names))
    parts = table.c
    of = sa.table("candidates", *map(sa.column, ("part", "bsd", "probability"))).c
    here = sa.and_(of.part == parts.code, of.bsd == parts.bsd)
    total = sa.select(sa.func.coalesce(sa.func.sum(of.probability), 0.0)).where(here)
    share = total.scalar_subquery()
    verdict = sa.case((parts.state.in_(SETTLED), "sure"), else_=parts.verdict)
    change = sa.update(table).where(parts.bsd.is_not(None))
    op.execute(
        change.values(
            bsd_verdict=verdict,
            bsd_probability=sa.case((share > 1, 1.0), else_=share),
            width_verdict=sa.case((parts.width.is_(None), "none"), else_=verdict),
        )
    )
