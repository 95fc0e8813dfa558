"""Commands that ask the catalogue: find, pairs, tally, missing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Bin, Catalogue, Json, Kind


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("find")(find)
    app.command("pairs")(pairs)
    app.command("tally")(tally)
    app.command("missing")(missing)
    app.command("want")(want)


def find(
    size: Annotated[
        str,
        typer.Argument(help="An ISO size (47-507) or a diameter (507).", show_default=False),
    ] = "",
    fits: Annotated[
        str,
        typer.Option(help="622x19C finds tyres for it, 37-622 rims.", show_default=False),
    ] = "",
    tubes: Annotated[
        str, typer.Option(help="Tubes for this tyre, e.g. 37-622.", show_default=False)
    ] = "",
    photo: Annotated[
        Path | None,
        typer.Option(help="Photo of a label: its part.", show_default=False, readable=False),
    ] = None,
    text: Annotated[str, typer.Option(help="In code, note or condition.", show_default=False)] = "",
    kind: Kind = "",
    bin: Bin = "",
    shelf: Annotated[str, typer.Option(help="Only there.", show_default=False)] = "",
    state: Annotated[
        str,
        typer.Option(help="open, accepted, corrected, again or doubted.", show_default=False),
    ] = "",
    limit: Annotated[int, typer.Option(help="At most so many.")] = 50,
    catalogue: Catalogue = "catalogue.db",
    json: Json = False,
) -> None:
    """Find parts: by size, by place, by what fits, or by the label in a photo."""
    from reader.cli import find_run

    if sum(map(bool, (fits, tubes, photo))) > 1:
        raise typer.BadParameter("give only one of --fits, --tubes, --photo")
    wishes = find_run.Wishes(size, kind, bin, shelf, state, text, limit)
    find_run.run(catalogue, wishes, fits, tubes, photo, json)


def pairs(
    catalogue: Catalogue = "catalogue.db",
    bin: Bin = "",
    limit: Annotated[int, typer.Option(help="Show at most so many.")] = 50,
    json: Json = False,
) -> None:
    """Rims and tyres in the catalogue that make a wheel, and what stays alone."""
    from reader.cli import find_run

    find_run.pairs(catalogue, bin, limit, json)


def tally(
    by: Annotated[
        str, typer.Option(help="Count by size, bsd, width, kind, month, year or bin.")
    ] = "size",
    kind: Kind = "",
    bin: Bin = "",
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write it as CSV.", show_default=False)
    ] = None,
    plot: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw it: .png or .svg.", show_default=False),
    ] = None,
    catalogue: Catalogue = "catalogue.db",
    json: Json = False,
) -> None:
    """Count the parts; unsure readings count by their probability, with an interval."""
    from reader.cli import tally_run

    tally_run.tally(catalogue, by, kind, bin, csv, plot, json)


def missing(
    catalogue: Catalogue = "catalogue.db",
    bin: Bin = "",
    json: Json = False,
) -> None:
    """What is asked for and lacking, and what would complete wheels."""
    from reader.cli import tally_run

    tally_run.missing(catalogue, bin, json)


def want(
    size: Annotated[
        str, typer.Argument(help="47-507, or 622 for any width.", show_default=False)
    ] = "",
    kind: Annotated[str, typer.Option(help="tyre, rim or tube.")] = "tyre",
    width: Annotated[str, typer.Option(help="From-to in mm, e.g. 28-37.", show_default=False)] = "",
    quantity: Annotated[int, typer.Option(help="Pieces.")] = 1,
    note: Annotated[str, typer.Option(help="For whom.", show_default=False)] = "",
    done: Annotated[
        int | None, typer.Option(help="Strike the wish with this number.", show_default=False)
    ] = None,
    catalogue: Catalogue = "catalogue.db",
) -> None:
    """Note down what someone asks for, or strike it."""
    from reader.cli import tally_run

    if bool(size) == (done is not None):
        raise typer.BadParameter("give either a size or --done NUMBER")
    tally_run.want(catalogue, size, kind, width, quantity, note, done)
