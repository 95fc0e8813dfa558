"""The range that a part's own maker allows: tyre widths of a rim, inner rim widths of a tyre."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add both ends; nothing is known of the parts that are there."""
    for name in ("allows_from", "allows_to"):
        op.add_column("parts", sa.Column(name, sa.Float()))
    op.create_index("parts_by_allows", "parts", ["allows_to"])
