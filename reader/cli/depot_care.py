"""Commands that look after the catalogue itself: check, failures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Catalogue, Json


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("check")(check)
    app.command("failures")(failures)


def check(
    catalogue: Catalogue = "catalogue.db",
    backup: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Copy the catalogue there too.", show_default=False),
    ] = None,
) -> None:
    """Look whether everything is whole: catalogue, photos, models, tables, engines, free space.

    Exit status: 0 all is well, 3 photos are missing, 5 an engine or a table, 6 the catalogue.
    """
    from reader.cli import check_run

    raise typer.Exit(int(check_run.check(catalogue, backup)))


def failures(
    folders: Annotated[
        list[Path], typer.Argument(help="Only photos in these folders.", show_default=False)
    ] = [],  # noqa: B006 (typer's way to say 'none given')
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write it as CSV.", show_default=False)
    ] = None,
    catalogue: Catalogue = "catalogue.db",
    json: Json = False,
) -> None:
    """List all photos that could not be read, each with its reason and remedy.

    Exit status: 0 there are none, 3 there are some.
    """
    from reader.cli import check_run

    raise typer.Exit(int(check_run.failures(catalogue, folders, csv, json)))
