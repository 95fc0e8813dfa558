"""Commands for the counter: a slip for the customer, and the largest tyre that a frame takes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Catalogue, Json


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("slip")(slip)


def slip(
    parts: Annotated[
        list[str],
        typer.Argument(help="A size, a part's code, or a tyre and a rim.", show_default=False),
    ],
    pdf: Annotated[
        Path | None,
        typer.Option(help="Write it as a page to print.", show_default=False),
    ] = None,
    catalogue: Catalogue = "catalogue.db",
    market: Annotated[str, typer.Option(help="The region whose usual sizes come first.")] = "world",
    json: Json = False,
) -> None:
    """One page for the customer: names, widths, tube, pressure, bins, what never fits."""
    from reader.cli import slip_run

    status = slip_run.run_slip(parts, catalogue, pdf, market, json)
    if status:
        raise typer.Exit(int(status))
