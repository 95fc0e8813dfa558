"""Commands that ask the catalogue: find, pairs, tally, missing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.catalogue.columns import CONDITIONS, FACTS, STATES
from reader.cli.column_options import takes
from reader.cli.depot_shared import Any_, Bin, Catalogue, Depot, Hub, Json, Kind


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("find")(find)
    app.command("pairs")(pairs)
    app.command("tally")(tally)
    app.command("missing")(missing)
    app.command("want")(want)


@takes(FACTS)
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
        typer.Option(help=f"{', '.join(STATES)}.", show_default=False),
    ] = "",
    depot: Depot = "",
    condition: Annotated[
        str, typer.Option(help=f"Only in this one: {', '.join(CONDITIONS)}.", show_default=False)
    ] = "",
    any_condition: Any_ = False,
    hub: Hub = None,
    limit: Annotated[int, typer.Option(help="At most so many.")] = 50,
    catalogue: Catalogue = "catalogue.db",
    json: Json = False,
    **facts: str | None,
) -> None:
    """Find parts: by size, by place, by what stands on them, by what fits, or by a label's photo.

    What fits (--fits, --tubes) leaves out rejects and what is to be looked at, unless they are
    asked for with --any-condition.
    """
    from reader.cli import find_run

    if sum(map(bool, (fits, tubes, photo))) > 1:
        raise typer.BadParameter("give only one of --fits, --tubes, --photo")
    said = {**facts, "condition": condition or None}
    place = find_run.Where(bin, shelf, depot)
    wishes = find_run.Wishes(size, kind, place, state, text, limit, said, any_condition, hub)
    find_run.run(catalogue, wishes, fits, tubes, photo, json)


def pairs(
    catalogue: Catalogue = "catalogue.db",
    bin: Bin = "",
    depot: Depot = "",
    any_condition: Any_ = False,
    hub: Hub = None,
    limit: Annotated[int, typer.Option(help="Show at most so many.")] = 50,
    json: Json = False,
) -> None:
    """Rims and tyres in the catalogue that make a wheel, and what stays alone."""
    from reader.cli import find_run

    find_run.pairs(catalogue, find_run.Where(bin, "", depot), any_condition, limit, json, hub)


def tally(
    by: Annotated[
        str,
        typer.Option(
            help="Count by bsd (bead seat diameter), size, width, kind, month, year, bin or depot."
        ),
    ] = "bsd",
    kind: Kind = "",
    bin: Bin = "",
    depot: Depot = "",
    beside: Annotated[
        str,
        typer.Option(help="A column each: depot, bin, month or year.", show_default=False),
    ] = "",
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
    from reader.catalogue.query.tally import Among
    from reader.cli import tally_run

    among = Among(kind, bin, depot)
    tally_run.tally(catalogue, tally_run.Wishes(by, among, beside, csv, plot, json))


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
