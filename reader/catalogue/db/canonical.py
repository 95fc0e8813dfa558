"""The whole content as text in one fixed order, to compare two catalogues byte for byte.

Clock times of writing, and how long reading took, are left out: they differ from run to run.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from hashlib import blake2b
from typing import Any

import sqlalchemy as sa

from reader.catalogue.db import schema
from reader.catalogue.db.store import Catalogue

CLOCK = frozenset(["made_at", "seconds"])


def dump(catalogue: Catalogue) -> Iterator[str]:
    """One JSON line a row, tables by name, rows sorted."""
    with catalogue.read() as connection:
        for name in sorted(schema.metadata.tables):
            table = schema.metadata.tables[name]
            columns = [column for column in table.c if column.name not in CLOCK]
            rows = connection.execute(sa.select(*columns)).mappings()
            lines = [
                _line(name, {key: _plain(value) for key, value in row.items()}) for row in rows
            ]
            yield from sorted(lines)


def _plain(value: Any) -> Any:
    return blake2b(value, digest_size=20).hexdigest() if isinstance(value, bytes) else value


def _line(name: str, row: Mapping[str, Any]) -> str:
    plain = {str(key): _plain(value) for key, value in row.items()}
    return json.dumps({"table": name, **plain}, sort_keys=True, ensure_ascii=False)
