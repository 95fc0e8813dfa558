"""The command that serves the phone page."""

from __future__ import annotations

import typer


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
