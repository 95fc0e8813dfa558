"""Options that several commands of the catalogue share."""

from __future__ import annotations

from typing import Annotated

import typer

Catalogue = Annotated[
    str,
    typer.Option(
        envvar="TYREMARK_CATALOGUE", help="The catalogue: a file, or a postgresql:// URL."
    ),
]
Bin = Annotated[str, typer.Option(help="Only in this bin.", show_default=False)]
Kind = Annotated[str, typer.Option(help="tyre, rim or tube.", show_default=False)]
Person = Annotated[str, typer.Option(help="Who says so.", envvar="TYREMARK_PERSON")]
Depot = Annotated[str, typer.Option(help="Only of this depot.", show_default=False)]
Any_ = Annotated[
    bool, typer.Option("--any-condition", help="Rejects and what is to be looked at, too.")
]
Hub = Annotated[
    int | None,
    typer.Option(min=8, max=144, help="Rims for a hub of so many holes.", show_default=False),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
