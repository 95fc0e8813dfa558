"""Prints an answer as lines of text or as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from reader.cli.screen import print_json
from reader.tables import Tables


def emit(value: object, lines: Iterable[str], as_json: bool, tables: Tables) -> None:
    """Print `value` as JSON with the titles of its sources, or else the lines."""
    if as_json:
        data = plain(value)
        keys = sorted({key for key in _sources(data) if key in tables.sources})
        titles = {key: tables.source_title(key) for key in keys}
        print_json({"answer": data, "sources": titles})
        return
    for line in lines:
        print(line)


def plain(value: object) -> Any:
    """Dataclasses, enums and tuples as what JSON knows; infinite numbers become null."""
    if is_dataclass(value):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | frozenset):
        return [plain(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _sources(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        if isinstance(data.get("source"), str):
            yield from data["source"].split(", ")
        for one in data.values():
            yield from _sources(one)
    elif isinstance(data, list):
        for one in data:
            yield from _sources(one)
