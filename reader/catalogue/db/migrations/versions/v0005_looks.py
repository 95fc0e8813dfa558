"""Pictures by which a part is known again, a person's word on two; indices to find words by."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table and add the columns; pictures come with the next reading of a part."""
    op.create_table(
        "looks",
        sa.Column("part", sa.Text, sa.ForeignKey("parts.code"), primary_key=True),
        sa.Column("picture", sa.LargeBinary, nullable=False),
        sa.Column("compared", sa.Integer, nullable=False),
    )
    op.create_index("looks_by_compared", "looks", ["compared"])
    gone = sa.Column("gone", sa.Text, nullable=False, server_default="")
    pieces = sa.Column("pieces", sa.Integer, nullable=False, server_default="0")
    op.add_column("lookalikes", gone)
    op.add_column("lookalikes", pieces)
    noted = sa.text("note <> ''")
    op.create_index("parts_by_note", "parts", ["note"], sqlite_where=noted, postgresql_where=noted)
    op.create_index("parts_by_condition", "parts", ["condition"])
