"""Commands that read photos."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reader.cli.options import Market
from reader.language import said


def attach(app: typer.Typer) -> None:
    """Add this family's commands to the app."""
    app.command("read")(read)
    app.command("engines")(engines)


def read(
    photos: Annotated[
        list[Path],
        typer.Argument(help="Photos, or folders of photos.", show_default=False, readable=False),
    ],
    together: Annotated[
        bool, typer.Option("--together", help="All photos show one and the same part.")
    ] = False,
    part: Annotated[
        str, typer.Option(help="What the photos show: tyre, rim, tube or unknown.")
    ] = "unknown",
    box: Annotated[
        str,
        typer.Option(
            help="Where the marking is, in pixels: left,top,width,height. One photo only.",
            show_default=False,
        ),
    ] = "",
    market: Market = "world",
    engine: Annotated[
        list[str],
        typer.Option(help="Use only this reading engine; may be repeated.", show_default=False),
    ] = [],  # noqa: B006 (typer's way to say 'none given')
    patience: Annotated[
        float,
        typer.Option(
            metavar="SECONDS",
            help="Processor time that a hard photo may take; then the best answer so far.",
        ),
    ] = 5.0,
    json: Annotated[bool, typer.Option("--json", help="Print JSON instead of cards.")] = False,
    why: Annotated[
        bool, typer.Option("--why", help="Add the evidence, the weightiest first.")
    ] = False,
    everything: Annotated[
        bool,
        typer.Option(
            "--all", help="Add the evidence, all cautions and markings; a card for every photo."
        ),
    ] = False,
    mounted: Annotated[
        bool,
        typer.Option(help="A tyre on its wheel: are the two right for each other, as far as seen?"),
    ] = False,
    overlay: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Write each photo with the places that were read drawn in.",
            show_default=False,
        ),
    ] = None,
    stages: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Write a picture of every step.", show_default=False),
    ] = None,
) -> None:
    """Read the size from photos of tyres, rims or tubes.

    Each photo is taken as one part, unless --together says that all show the same one. Of several
    parts only those that are not sure get a card, and a table of all ends the list. Exit status:
    0 a diameter was told, 1 none could be told, 3 a photo could not be opened.
    """
    from reader.memory import undisturbed
    from reader.photo import guard

    guard.prepare()  # it starts while the rest is imported
    with undisturbed():
        from reader.cli.read_run import Wishes, run

    wishes = Wishes(
        paths=tuple(photos),
        together=together,
        part=part,
        box=box,
        market=market,
        engines=tuple(engine),
        patience=patience,
        json=json,
        why=why,
        everything=everything,
        mounted=mounted,
        overlay=overlay,
        stages=stages,
    )
    raise typer.Exit(int(run(wishes)))


def engines() -> None:
    """Say which reading engines are in use here, which versions, and where they come from.

    Exit status: 0 if at least one works, 5 if none does.
    """
    from reader import ocr
    from reader.cli.ending import told
    from reader.errors import EngineError, ExitCode

    working = 0
    for kind in ocr.ENGINES:
        try:
            print(f"{kind.name}: {said(kind().describe())}")
            working += 1
        except EngineError as error:
            print(f"{kind.name}: {said('not in use')}; {told(error)}")
    raise typer.Exit(int(ExitCode.OK if working else ExitCode.ENGINE))
