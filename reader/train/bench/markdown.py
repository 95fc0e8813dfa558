"""Tables of the benchmarks' reports."""

from __future__ import annotations

from collections.abc import Sequence


def markdown(table: Sequence[Sequence[str]]) -> str:
    """A table in Markdown; its first row is the head."""
    head, *body = ("| " + " | ".join(cells) + " |" for cells in table)
    return "\n".join([head, "|" + "---|" * len(table[0]), *body])
