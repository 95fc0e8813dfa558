"""Commands for a whole bin: bring in, review, look after single parts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli import depot_care, depot_lists
from reader.cli import depot_query as depot_ask
from reader.cli.depot_shared import Bin, Catalogue, Kind
from reader.cli.options import Market


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("bin")(take_in)
    app.command("review")(review)
    app.command("part")(part)
    app.command("add")(add)
    depot_ask.attach(app)
    depot_lists.attach(app)
    depot_care.attach(app)


def take_in(
    folders: Annotated[
        list[Path], typer.Argument(help="Folders with photos, searched deep.", readable=False)
    ],
    catalogue: Catalogue = "catalogue.db",
    by: Annotated[
        str,
        typer.Option(
            help="What makes a part: 'folder' (one a part), 'time' (a pause begins the next part) "
            "or 'code' (a photo of the part's label begins it)."
        ),
    ] = "folder",
    gap: Annotated[float, typer.Option(help="The pause for --by time, in seconds.")] = 20.0,
    most: Annotated[int, typer.Option(help="Most photos that one part can have.")] = 24,
    part: Annotated[
        str, typer.Option(help="What the photos show: tyre, rim, tube or unknown.")
    ] = "unknown",
    bin: Annotated[str, typer.Option(help="Where the parts lie, if not the folder's name.")] = "",
    shelf: Annotated[str, typer.Option(help="Where in the bin.", show_default=False)] = "",
    condition: Annotated[
        str, typer.Option(help="State of all these parts, e.g. 'worn'.", show_default=False)
    ] = "",
    workers: Annotated[
        int | None, typer.Option(help="Reading processes; one a core.", show_default=False)
    ] = None,
    cluster: Annotated[
        str,
        typer.Option(help="Read on a dask cluster: tcp://ADDRESS:PORT.", show_default=False),
    ] = "",
    market: Market = "world",
    again: Annotated[bool, typer.Option("--again", help="Read known photos once more.")] = False,
    retry: Annotated[
        bool, typer.Option("--retry", help="Try photos again that failed before.")
    ] = False,
    check_content: Annotated[
        bool,
        typer.Option("--check-content", help="Open unchanged-looking files too."),
    ] = False,
) -> None:
    """Read a whole bin of parts into the catalogue; stop it and start it again as you like.

    Exit status: 0 all photos were read, 3 some could not be (they are listed, the others are
    done), 130 stopped.
    """
    from reader.cli.bin_run import Wishes, run

    wishes = Wishes(
        folders=tuple(folders),
        catalogue=catalogue,
        by=by,
        gap=gap,
        most=most,
        part=part,
        bin=bin,
        shelf=shelf,
        condition=condition,
        workers=workers,
        cluster=cluster,
        market=market,
        again=again,
        retry=retry,
        check_content=check_content,
    )
    raise typer.Exit(int(run(wishes)))


def review(
    catalogue: Catalogue = "catalogue.db",
    bin: Bin = "",
    person: Annotated[str, typer.Option(help="Who says so.", show_default=False)] = "",
) -> None:
    """Look at what the reader is unsure of, in the order in which each minute settles most."""
    from reader.cli.review_run import run

    run(catalogue, bin, person)


def part(
    code: Annotated[str, typer.Argument(help="The part's code, as on its label.")],
    catalogue: Catalogue = "catalogue.db",
    bin: Annotated[str | None, typer.Option(help="Move it there.", show_default=False)] = None,
    shelf: Annotated[str | None, typer.Option(help="Move it there.", show_default=False)] = None,
    condition: Annotated[str | None, typer.Option(help="New state.", show_default=False)] = None,
    quantity: Annotated[
        int | None, typer.Option(help="Pieces now; 0: all gone.", show_default=False)
    ] = None,
    note: Annotated[str | None, typer.Option(help="New note.", show_default=False)] = None,
    size: Annotated[
        str, typer.Option(help="The right size, e.g. 47-507.", show_default=False)
    ] = "",
    kind: Kind = "",
    reopen: Annotated[
        bool, typer.Option("--reopen", help="Take a person's word back; the reading counts.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Show one part with its history; move it, count it, or correct it."""
    from reader.cli import part_run

    changes = part_run.Changes(bin, shelf, condition, quantity, note)
    part_run.show(catalogue, code, changes, size, kind, reopen, json)


def add(
    size: Annotated[str, typer.Argument(help="Size or label, e.g. 47-507, 622x19C, 37/57-559.")],
    kind: Annotated[str, typer.Option(help="tyre, rim or tube.", prompt="tyre, rim or tube")],
    catalogue: Catalogue = "catalogue.db",
    bin: Annotated[str, typer.Option(help="Where it lies.", show_default=False)] = "",
    shelf: Annotated[str, typer.Option(help="Where in the bin.", show_default=False)] = "",
    quantity: Annotated[int, typer.Option(help="Pieces alike.")] = 1,
    condition: Annotated[str, typer.Option(help="State.", show_default=False)] = "",
    note: Annotated[str, typer.Option(help="Free text.", show_default=False)] = "",
    code: Annotated[
        str, typer.Option(help="Of a label printed beforehand.", show_default=False)
    ] = "",
) -> None:
    """Add a part without photo, by the size that you read yourself."""
    from reader.cli import part_run

    place = (bin, shelf)
    part_run.add(catalogue, size, kind, place, quantity, condition, note, code)
