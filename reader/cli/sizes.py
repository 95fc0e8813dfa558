"""Commands about sizes, fit and wheels; no photo needed."""

from __future__ import annotations

import typer


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
