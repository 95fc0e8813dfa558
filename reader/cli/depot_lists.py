"""Commands that write and read lists: labels, export, import, training material."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Bin, Catalogue, Kind
from reader.language import N_

NUMBERS = N_(
    "page width, page height, label width, label height, columns, rows, left margin, top margin, "
    "gap across, gap down"
)


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("labels")(labels)
    app.command("export")(export)
    app.command("import")(bring)
    app.command("training")(training)


def labels(
    out: Annotated[Path, typer.Argument(help="The PDF to write.")],
    code: Annotated[
        list[str], typer.Option(help="Only this part; may be repeated.", show_default=False)
    ] = [],  # noqa: B006 (typer's way to say 'none given')
    bin: Bin = "",
    kind: Kind = "",
    sheet: Annotated[
        str, typer.Option(help="Label stock by its label's size in mm.")
    ] = "63.5x38.1",
    own: Annotated[
        str, typer.Option(help=f"Another sheet, in mm: {NUMBERS}.", show_default=False)
    ] = "",
    skip: Annotated[int, typer.Option(help="Labels used up on the first page.")] = 0,
    blank: Annotated[
        int, typer.Option(help="So many labels with new codes, to stick on before photographing.")
    ] = 0,
    catalogue: Catalogue = "catalogue.db",
) -> None:
    """Print labels: ISO size large, other names, place, and the part's QR code."""
    from reader.cli import lists_run

    lists_run.labels(catalogue, out, code, (bin, kind), (sheet, own), skip, blank)


def export(
    out: Annotated[Path, typer.Argument(help="The .csv or .parquet file to write.")],
    catalogue: Catalogue = "catalogue.db",
) -> None:
    """Write all parts to a CSV or Parquet file."""
    from reader.cli import lists_run

    lists_run.export(catalogue, out)


def bring(
    file: Annotated[Path, typer.Argument(help="The .csv or .parquet file to read.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only show what would change.")
    ] = False,
    again: Annotated[
        bool, typer.Option("--again", help="These are further parts, though the list is the same.")
    ] = False,
    person: Annotated[str, typer.Option(help="Who says so.", show_default=False)] = "",
    catalogue: Catalogue = "catalogue.db",
) -> None:
    """Bring a list of parts in: all of it, or nothing if a line makes no sense.

    A line with a part's code changes that part, in the columns that the list has. A line without
    a code is a new part.
    """
    from reader.cli import lists_run

    lists_run.bring(catalogue, file, dry_run, again, person)


def training(
    folder: Annotated[Path, typer.Argument(help="Where to write the pictures and lines.csv.")],
    catalogue: Catalogue = "catalogue.db",
) -> None:
    """Write what people settled as material to train a reader on."""
    from reader.cli import lists_run

    lists_run.training(catalogue, folder)
