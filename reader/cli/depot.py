"""Commands for a whole bin: intake, review, search, tally, labels."""

from __future__ import annotations

import typer


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
