"""Commands for a whole bin: bring in, review, look after single parts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.catalogue.columns import CONDITIONS, TOLD
from reader.cli import depot_care, depot_lists
from reader.cli import depot_query as depot_ask
from reader.cli.column_options import takes
from reader.cli.depot_shared import Bin, Catalogue, Kind, Person
from reader.cli.options import Market
from reader.errors import InputError
from reader.language import said


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
        str,
        typer.Option(help=f"Of all these parts: {', '.join(CONDITIONS)}.", show_default=False),
    ] = "",
    depot: Annotated[
        str, typer.Option(help="Which depot they belong to.", envvar="TYREMARK_DEPOT")
    ] = "",
    workers: Annotated[
        int | None, typer.Option(help="Reading processes; one a core.", show_default=False)
    ] = None,
    cluster: Annotated[
        str,
        typer.Option(help="Read on a dask cluster: tcp://ADDRESS:PORT.", show_default=False),
    ] = "",
    shared: Annotated[
        bool,
        typer.Option("--shared", help="The cluster's workers see the folders under these paths."),
    ] = False,
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
        depot=depot,
        workers=workers,
        cluster=cluster,
        shared=shared,
        market=market,
        again=again,
        retry=retry,
        check_content=check_content,
    )
    raise typer.Exit(int(run(wishes)))


def review(
    catalogue: Catalogue = "catalogue.db",
    bin: Bin = "",
    person: Person = "",
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Write the shown part's strip there, as PNG, for a viewer that follows the file.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Look at what the reader is unsure of, in the order in which each minute settles most."""
    from reader.cli.review_run import run

    run(catalogue, bin, person, picture)


@takes(TOLD)
def part(
    code: Annotated[str, typer.Argument(help="The part's code, as on its label.")],
    catalogue: Catalogue = "catalogue.db",
    size: Annotated[
        str, typer.Option(help="The right size, e.g. 47-507.", show_default=False)
    ] = "",
    kind: Kind = "",
    reopen: Annotated[
        bool, typer.Option("--reopen", help="Take a person's word back; the reading counts.")
    ] = False,
    foreign: Annotated[
        bool, typer.Option("--foreign", help="It is no part of a bicycle: set it aside.")
    ] = False,
    person: Person = "",
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    **given: str | None,
) -> None:
    """Show one part with its history; move it, count it, say what it is and how good.

    An option with an empty text ('') takes the value away.
    """
    from reader.cli import part_run

    acts = part_run.Acts(person, reopen, foreign)
    part_run.show(catalogue, code, given, size, kind, acts, json)


@takes(TOLD)
def add(
    size: Annotated[str, typer.Argument(help="Size or label, e.g. 47-507, 622x19C, 37/57-559.")],
    kind: Kind = "",
    catalogue: Catalogue = "catalogue.db",
    code: Annotated[
        str, typer.Option(help="Of a label printed beforehand.", show_default=False)
    ] = "",
    person: Person = "",
    **given: str | None,
) -> None:
    """Add a part without photo, by the size that you read yourself."""
    from reader.cli import part_run

    try:
        kind = kind or typer.prompt(said("tyre, rim or tube"))
    except typer.Abort:
        raise InputError("no kind of part is given", "add --kind tyre, rim or tube") from None
    part_run.add(catalogue, size, kind, code, person, given)
