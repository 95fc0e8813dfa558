"""The tables of the catalogue, as SQLAlchemy Core sees them; the migrations make them.

Everything a machine or a person said is kept: `readings` and `corrections` only ever grow. `parts`
and `candidates` hold what counts now, so that search and tally need no look at the past.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import (
    BigInteger,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    text,
)

from reader.catalogue.columns import COLUMNS
from reader.catalogue.db.words import PathText, Words

VERSIONS = Path(__file__).parent / "migrations" / "versions"
VERSION = max(path.name[1:5] for path in VERSIONS.glob("v*.py"))
"""The newest migration; a database with an unknown one is from a newer program."""

metadata = MetaData()
TYPES = {str: Words, int: Integer, float: Float}

NOTED = text("note <> ''")

parts = Table(
    "parts",
    metadata,
    *(
        Column(
            one.name,
            TYPES[one.type],
            nullable=one.optional,
            primary_key=one.name == "code",
            unique=one.name == "source" or None,
        )
        for one in COLUMNS.values()
    ),
    Index("parts_by_size", "bsd", "kind", "width"),
    Index("parts_by_place", "bin", "shelf"),
    Index("parts_by_gain", "state", "gain"),
    Index("parts_by_allows", "allows_to"),
    Index("parts_by_note", "note", sqlite_where=NOTED, postgresql_where=NOTED),
    Index("parts_by_condition", "condition"),
    Index("parts_by_open_width", "bsd_verdict", "bsd", "kind", "width_verdict"),
)

candidates = Table(
    "candidates",
    metadata,
    Column("part", Words, ForeignKey("parts.code", ondelete="CASCADE"), primary_key=True),
    Column("rank", Integer, primary_key=True),
    Column("kind", Words, nullable=False),
    Column("bsd", Integer, nullable=False),
    Column("width", Float),
    Column("probability", Float, nullable=False),
    Index("candidates_by_size", "bsd", "kind", "width", "part", "probability"),
)

photos = Table(
    "photos",
    metadata,
    Column("digest", Words, primary_key=True),  # BLAKE2b of the file's bytes
    Column("part", Words, ForeignKey("parts.code"), nullable=False),
    Column("name", PathText, nullable=False),
    Column("path", PathText, nullable=False),
    Column("taken", Words, nullable=False),  # ISO date and time, from the camera or the file
    Column("state", Words, nullable=False),  # read, failed, replaced
    Column("reason", Words, nullable=False),  # why it failed
    Column("remedy", Words, nullable=False),  # what to do about it
    Index("photos_by_part", "part"),
)

files = Table(  # what the intake has seen; spares looking into an unchanged file again
    "files",
    metadata,
    Column("path", PathText, primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    Column("mtime_ns", BigInteger, nullable=False),
    Column("digest", Words, nullable=False),
    Column("taken", Words, nullable=False),
    Column("label", Words),  # text of the QR code seen in it; NULL: not looked for, '': none
)

readings = Table(
    "readings",
    metadata,
    Column("part", Words, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("photos", Words, nullable=False),  # digests, sorted, one space between
    Column("verdict", Words, nullable=False),
    Column("shares", Words, nullable=False),  # JSON: kind, bsd, width, probability of each size
    Column("document", Words, nullable=False),  # the whole reading with its evidence, JSON
    Column("strip", LargeBinary),  # PNG of the straightened marking
    Column("seconds", Float, nullable=False),
    Column("made_at", Words, nullable=False),
    Column("facts", Words, nullable=False),  # JSON: what else it says, by column of `parts`
    Column("engines", Words, nullable=False),  # JSON: engines, models, versions; see `ocr.stamp`
    Column("wanting", Words, nullable=False),  # engines that could not read, a space between
    Column("bsd_verdict", Words, nullable=False),  # of the diameter and the width alone
    Column("bsd_probability", Float, nullable=False),
    Column("width_verdict", Words, nullable=False),
)

corrections = Table(
    "corrections",
    metadata,
    Column("part", Words, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("reading", Integer),  # which reading it is about
    Column("action", Words, nullable=False),  # accepted, corrected, again, skipped, foreign
    Column("kind", Words, nullable=False),
    Column("bsd", Integer),
    Column("width", Float),
    Column("text", Words, nullable=False),  # the marking letter by letter, as the person reads it
    Column("person", Words, nullable=False),
    Column("made_at", Words, nullable=False),
)

history = Table(
    "history",
    metadata,
    Column("part", Words, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("what", Words, nullable=False),  # came in, read, accepted, moved, …
    Column("detail", Words, nullable=False),
    Column("made_at", Words, nullable=False),
    Column("person", Words, nullable=False),  # who did it, '' for the program
)

lists = Table(  # lists with parts that have no code, so that none is brought in twice unasked
    "lists",
    metadata,
    Column("digest", Words, primary_key=True),  # BLAKE2b of the rows
    Column("name", PathText, nullable=False),
    Column("parts", Integer, nullable=False),
    Column("made_at", Words, nullable=False),
)

looks = Table(  # by which a part is known again in another folder
    "looks",
    metadata,
    Column("part", Words, ForeignKey("parts.code"), primary_key=True),
    Column("picture", LargeBinary, nullable=False),  # grey JPEG of the marking's surroundings
    Column("compared", Integer, nullable=False),  # 1: with all of its size that came before it
    Index("looks_by_compared", "compared"),
)

lookalikes = Table(  # pairs of parts that look like one, and what a person said of them
    "lookalikes",
    metadata,
    Column("part", Words, ForeignKey("parts.code"), primary_key=True),  # the lower code
    Column("other", Words, ForeignKey("parts.code"), primary_key=True),
    Column("likeness", Float, nullable=False),  # 0..1
    Column("said", Words, nullable=False),  # '', same, different
    Column("gone", Words, nullable=False),  # which of the two a person's 'same' took out
    Column("pieces", Integer, nullable=False),  # that it had before
    Column("person", Words, nullable=False),
    Column("made_at", Words, nullable=False),
)

wanted = Table(
    "wanted",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("kind", Words, nullable=False),
    Column("bsd", Integer, nullable=False),
    Column("width_min", Float),
    Column("width_max", Float),
    Column("quantity", Integer, nullable=False),
    Column("note", Words, nullable=False),
    Column("made_at", Words, nullable=False),
)
