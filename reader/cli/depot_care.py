"""Commands that look after the catalogue itself: check, failures, doubles."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Bin, Catalogue, Json, Person


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("check")(check)
    app.command("failures")(failures)
    app.command("doubles")(doubles)


def doubles(
    parts: Annotated[
        list[str], typer.Argument(help="Two codes; none lists all pairs.", show_default=False)
    ] = [],  # noqa: B006 (typer's way to say 'none given')
    same: Annotated[
        bool, typer.Option("--same", help="They are one part: it counts once from now on.")
    ] = False,
    different: Annotated[
        bool, typer.Option("--different", help="They are two; takes --same back as well.")
    ] = False,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write both markings there, as PNG.", show_default=False),
    ] = None,
    bin: Bin = "",
    settled: Annotated[
        bool, typer.Option("--settled", help="Pairs that a person settled, too.")
    ] = False,
    person: Person = "",
    catalogue: Catalogue = "catalogue.db",
    json: Json = False,
) -> None:
    """List parts that look like one photographed twice, and say whether they are.

    What is listed is a suggestion by scratches, dirt and letters: two parts of one model may look
    alike. Nothing is taken out before a person says so.
    """
    from reader.cli import doubles_run

    if same and different:
        raise typer.BadParameter("give either --same or --different")
    said = "same" if same else "different" if different else ""
    wishes = doubles_run.Wishes(tuple(parts), said, person, bin, settled, picture, json)
    doubles_run.run(catalogue, wishes)


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
