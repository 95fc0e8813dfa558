"""The first version: parts, photos, readings, corrections, history, wanted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def _text(name: str, **options: object) -> sa.Column:
    return sa.Column(name, sa.Text, nullable=False, **options)  # type: ignore[arg-type]


def _part(**options: object) -> sa.Column:
    return sa.Column("part", sa.Text, sa.ForeignKey("parts.code", **options))  # type: ignore[arg-type]


def _entries(name: str, *columns: sa.Column) -> None:
    op.create_table(
        name,
        _part(),
        sa.Column("number", sa.Integer),
        *columns,
        _text("made_at"),
        sa.PrimaryKeyConstraint("part", "number"),
    )


def _parts() -> None:
    op.create_table(
        "parts",
        sa.Column("code", sa.Text, primary_key=True),
        sa.Column("source", sa.Text, unique=True),
        _text("kind"),
        sa.Column("bsd", sa.Integer),
        sa.Column("width", sa.Float),
        sa.Column("probability", sa.Float, nullable=False),
        *map(_text, ("verdict", "state", "rim_kind", "tube_label", "bin", "shelf", "condition")),
        sa.Column("quantity", sa.Integer, nullable=False),
        *map(_text, ("note", "arrived")),
        sa.Column("gain", sa.Float, nullable=False),
        sa.Column("skips", sa.Integer, nullable=False),
    )
    op.create_index("parts_by_size", "parts", ["bsd", "kind", "width"])
    op.create_index("parts_by_place", "parts", ["bin", "shelf"])
    op.create_index("parts_by_gain", "parts", ["state", "gain"])
    op.create_table(
        "candidates",
        _part(ondelete="CASCADE"),
        sa.Column("rank", sa.Integer),
        _text("kind"),
        sa.Column("bsd", sa.Integer, nullable=False),
        sa.Column("width", sa.Float),
        sa.Column("probability", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("part", "rank"),
    )
    columns = ["bsd", "kind", "width", "part", "probability"]
    op.create_index("candidates_by_size", "candidates", columns)


def _photos() -> None:
    op.create_table(
        "photos",
        sa.Column("digest", sa.Text, primary_key=True),
        sa.Column("part", sa.Text, sa.ForeignKey("parts.code"), nullable=False),
        *map(_text, ("name", "path", "taken", "state", "reason")),
    )
    op.create_index("photos_by_part", "photos", ["part"])
    op.create_table(
        "files",
        sa.Column("path", sa.Text, primary_key=True),
        sa.Column("bytes", sa.BigInteger, nullable=False),
        sa.Column("mtime_ns", sa.BigInteger, nullable=False),
        *map(_text, ("digest", "taken")),
        sa.Column("label", sa.Text),
    )


def upgrade() -> None:
    """Make the tables."""
    _parts()
    _photos()
    _entries(
        "readings",
        *map(_text, ("photos", "verdict", "shares", "document")),
        sa.Column("strip", sa.LargeBinary),
        sa.Column("seconds", sa.Float, nullable=False),
    )
    _entries(
        "corrections",
        sa.Column("reading", sa.Integer),
        *map(_text, ("action", "kind")),
        sa.Column("bsd", sa.Integer),
        sa.Column("width", sa.Float),
        *map(_text, ("text", "person")),
    )
    _entries("history", *map(_text, ("what", "detail")))
    op.create_table(
        "wanted",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        _text("kind"),
        sa.Column("bsd", sa.Integer, nullable=False),
        sa.Column("width_min", sa.Float),
        sa.Column("width_max", sa.Float),
        sa.Column("quantity", sa.Integer, nullable=False),
        *map(_text, ("note", "made_at")),
    )
