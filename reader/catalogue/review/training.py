"""What people settled, as material to train on: strips with their text."""

from __future__ import annotations

import csv
from pathlib import Path

import sqlalchemy as sa

from reader.catalogue.columns import SETTLED
from reader.catalogue.db import schema
from reader.catalogue.db.store import Catalogue
from reader.errors import CatalogueError
from reader.records import Size

COLUMNS = ("file", "text", "size", "kind")


def export_training(catalogue: Catalogue, folder: Path) -> int:
    """Write the strips of settled parts as PNG, and `lines.csv` beside them.

    `lines.csv` has the columns file, text (the marking as the person reads it; '' where they did
    not say), size (what they settled, `47-507`), kind.

    Returns:
        How many strips were written.

    Raises:
        CatalogueError: the folder can't be written.
    """
    try:
        return _write(catalogue, folder)
    except OSError as error:
        remedy = "choose a folder that you may write, with room on the disk"
        raise CatalogueError(f"{folder} can't be written ({error.strerror})", remedy) from error


def _write(catalogue: Catalogue, folder: Path) -> int:
    c, r = schema.corrections.c, schema.readings.c
    same = sa.and_(r.part == c.part, r.number == c.reading)
    query = (
        sa.select(c.part, c.number, c.text, c.kind, c.bsd, c.width, r.strip)
        .join_from(schema.corrections, schema.readings, same)
        .where(c.action.in_(SETTLED), r.strip.is_not(None), c.bsd.is_not(None))
        .order_by(c.part, c.number.desc())
    )
    folder.mkdir(parents=True, exist_ok=True)
    seen: set[str] = set()
    with (
        catalogue.read() as connection,
        (folder / "lines.csv").open("w", newline="", encoding="utf-8") as file,
    ):
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for row in connection.execute(query):
            if row.part in seen:  # the newest word of a person is the one that counts
                continue
            seen.add(row.part)
            name = f"{row.part}.png"
            (folder / name).write_bytes(row.strip)
            writer.writerow((name, row.text, Size(row.bsd, row.width), row.kind))
    return len(seen)
