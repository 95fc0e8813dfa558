"""A heap of parts made up at random, to measure questions on: by the hundred thousand."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

import sqlalchemy as sa

from reader.catalogue.columns import new_part
from reader.catalogue.db import schema
from reader.catalogue.db.codes import code_of
from reader.catalogue.db.store import Catalogue

TYRES = ((47, 507), (37, 622), (28, 622), (57, 559), (40, 635), (37, 590), (32, 597), (25, 622))
RIMS = ((17, 622), (19, 622), (19, 559), (21, 584), (25, 559), (19, 635), (21, 507))
AT_ONCE = 20_000
Values = Mapping[str, Any]


def heap(count: int) -> Iterator[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """Parts with their candidates, of which two in three are read for sure; one in ten has a note.

    What is sure has one candidate, as after a person's word; the others have two.
    """
    choose = random.Random(1)
    usual = new_part(code="")
    for number in range(count):
        kind = choose.choice(("tyre", "tyre", "rim"))
        width, bsd = choose.choice(TYRES if kind == "tyre" else RIMS)
        sure = choose.random() < 0.67
        chance = 1.0 if sure else round(choose.uniform(0.3, 0.99), 4)
        code, word = code_of(str(number)), "sure" if sure else "likely"
        part = usual | {
            "code": code, "kind": kind, "bsd": bsd, "width": float(width), "probability": chance,
            "verdict": word, "bsd_verdict": word, "bsd_probability": chance, "width_verdict": word,
            "rim_kind": "C" if kind == "rim" else "",
            "holes": choose.choice((None, 28, 32, 36)) if kind == "rim" else None,
            "bin": f"bin {choose.randrange(40)}", "shelf": str(choose.randrange(6)),
            "quantity": choose.choice((1, 1, 1, 2, 4)),
            "arrived": f"2026-{choose.randrange(1, 13):02}-03", "gain": choose.random(),
            "depot": choose.choice(("North", "South")),
            "note": f"for job {number}" if number % 10 == 0 else "",
        }  # fmt: skip
        other = choose.choice(TYRES if kind == "tyre" else RIMS)
        both = [(width, bsd, chance)] + ([] if sure else [(*other, round(1 - chance, 4))])
        yield (
            part,
            [
                {"part": code, "rank": rank, "kind": kind, "bsd": b, "width": w, "probability": p}
                for rank, (w, b, p) in enumerate(both, start=1)
            ],
        )


def fill(catalogue: Catalogue, count: int) -> None:
    """Bring a heap into a catalogue that holds its beginning or nothing, the fastest way."""
    with catalogue.read() as connection:
        there = connection.scalar(sa.select(sa.func.count()).select_from(schema.parts)) or 0
    drawn = islice(heap(count), there, None)
    while some := list(islice(drawn, AT_ONCE)):
        parts = [part for part, _ in some]
        candidates = [one for _, several in some for one in several]
        with catalogue.write() as connection:
            for table, rows in ((schema.parts, parts), (schema.candidates, candidates)):
                if catalogue.is_sqlite:
                    connection.execute(sa.insert(table), rows)
                else:
                    _copy(connection, table, rows)
    if not catalogue.is_sqlite:  # its own autovacuum does so soon after; a benchmark does not wait
        with catalogue.engine.connect() as connection:
            plain = connection.execution_options(isolation_level="AUTOCOMMIT")
            plain.exec_driver_sql("VACUUM ANALYZE")


def _copy(connection: sa.Connection, table: sa.Table, rows: Sequence[Values]) -> None:
    names = list(rows[0])
    listed = ", ".join(f'"{name}"' for name in names)
    raw = connection.connection.driver_connection
    assert raw is not None
    with raw.cursor() as cursor, cursor.copy(f"COPY {table.name} ({listed}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row([row[name] for name in names])
