"""Condition with reasons, what else stands on a part, depots, and with what it was read."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

TEXTS = {
    "parts": (
        "depot", "reasons", "made", "brake", "tubeless", "hookless", "direction", "e_bike",
        "wear_mark",
    ),
    "photos": ("remedy",),
    "readings": ("facts", "engines", "wanting"),
    "history": ("person",),
}  # fmt: skip
WHOLE = ("holes", "threads")
DECIMAL = ("erd", "valve_hole", "pressure_low", "pressure_high", "load")
CONDITIONS = ("good", "usable", "to look at", "reject")


def upgrade() -> None:
    """Add the columns and tables; a condition in other words goes into the note."""
    for table, names in TEXTS.items():
        for name in names:
            op.add_column(table, sa.Column(name, sa.Text, nullable=False, server_default=""))
    for names, kind in ((WHOLE, sa.Integer), (DECIMAL, sa.Float)):
        for name in names:
            op.add_column("parts", sa.Column(name, kind()))
    _conditions()
    op.create_table(
        "lists",
        sa.Column("digest", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("parts", sa.Integer, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
    )
    op.create_table(
        "lookalikes",
        sa.Column("part", sa.Text, sa.ForeignKey("parts.code"), primary_key=True),
        sa.Column("other", sa.Text, sa.ForeignKey("parts.code"), primary_key=True),
        sa.Column("likeness", sa.Float, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("said", "person", "made_at")),
    )


def _conditions() -> None:
    parts = sa.table("parts", sa.column("condition"), sa.column("note"))
    known = sa.func.lower(parts.c.condition).in_(CONDITIONS)
    lower = sa.update(parts).where(known).values(condition=sa.func.lower(parts.c.condition))
    op.execute(lower)
    both = parts.c.condition + "; " + parts.c.note
    words = sa.case((parts.c.note == "", parts.c.condition), else_=both)
    other = sa.update(parts).where(parts.c.condition != "", sa.not_(known))
    op.execute(other.values(note=words, condition=""))
