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
Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
