"""Options made from the catalogue's columns, so that a new column needs no new option."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from functools import wraps
from typing import Annotated, Any

import typer

from reader.catalogue.about import Column


def takes(columns: Sequence[Column]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command an option a column; they come as keywords, None where not given.

    The command takes them as `**given`.
    """
    options = [
        inspect.Parameter(
            column.name,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[
                str | None,
                typer.Option(
                    f"--{column.name.replace('_', '-')}",
                    help=column.about.sentence,
                    show_default=False,
                ),
            ],
        )
        for column in columns
    ]

    def give(command: Callable[..., None]) -> Callable[..., None]:
        whole = inspect.signature(command, eval_str=True)
        own = [one for one in whole.parameters.values() if one.kind is not one.VAR_KEYWORD]
        keywords = [one.replace(kind=one.KEYWORD_ONLY) for one in own]

        @wraps(command)
        def run(**values: Any) -> None:
            command(**values)

        del run.__dict__["__wrapped__"]
        run.__signature__ = whole.replace(parameters=[*keywords, *options])  # type: ignore[attr-defined]
        run.__annotations__ = {one.name: one.annotation for one in (*keywords, *options)}
        return run

    return give
