"""Commands for the counter: a slip for the customer, and the largest tyre that a frame takes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.depot_shared import Catalogue
from reader.cli.options import Json, Market, Why


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("slip")(slip)
    app.command("clearance")(clearance)


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
    market: Market = "world",
    json: Json = False,
) -> None:
    """One page for the customer: names, widths, tube, pressure, bins, what never fits."""
    from reader.cli import slip_run

    status = slip_run.run_slip(parts, catalogue, pdf, market, json)
    if status:
        raise typer.Exit(int(status))


def clearance(
    wheel: Annotated[str, typer.Argument(help="The rim (622x19C), a tyre's size or 622.")],
    fork: Annotated[
        float | None, typer.Option(help="Inside width of the fork, mm.", show_default=False)
    ] = None,
    stay: Annotated[
        float | None, typer.Option(help="Inside width of the stays, mm.", show_default=False)
    ] = None,
    mudguard: Annotated[
        float | None, typer.Option(help="Inside width of the mudguard, mm.", show_default=False)
    ] = None,
    height: Annotated[
        float | None,
        typer.Option(help="From the axle to what is above the tyre, mm.", show_default=False),
    ] = None,
    gap: Annotated[float, typer.Option(help="Air to keep on every side, mm.")] = 6,
    rim_allows: Annotated[
        str,
        typer.Option(help="Tyre widths that the rim's maker allows: 25-47.", show_default=False),
    ] = "",
    catalogue: Catalogue = "catalogue.db",
    why: Why = False,
    json: Json = False,
) -> None:
    """The largest tyre that keeps a gap in frame, fork and mudguard; and those in the bins."""
    from reader.cli import clearance_run

    measured = clearance_run.Measured(fork, stay, mudguard, height, gap, rim_allows)
    status = clearance_run.run(wheel, measured, catalogue, why, json)
    if status:
        raise typer.Exit(int(status))
