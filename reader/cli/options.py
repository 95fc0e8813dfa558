"""Options that several commands share, so that each is called and explained the same everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def _markets() -> list[str]:
    """Columns of the table of priors; its first line only, so that help stays quick."""
    table = Path(__file__).parents[1] / "data" / "prior.csv"
    with table.open(encoding="utf-8") as lines:
        return lines.readline().strip().split(",")[1:]


MARKETS = _markets()


def _market(name: str) -> str:
    if name not in MARKETS:
        raise typer.BadParameter(f"'{name}' is none of {', '.join(MARKETS)}")
    return name


Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
Why = Annotated[bool, typer.Option("--why", help="Show everything: reasons, cautions, sources.")]
Market = Annotated[
    str,
    typer.Option(callback=_market, help=f"Whose usual sizes come first: {', '.join(MARKETS)}."),
]
