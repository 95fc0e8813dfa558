"""The tables of the catalogue, as SQLAlchemy Core sees them; the migrations make them.

Everything a machine or a person said is kept: `readings` and `corrections` only ever grow. `parts`
and `candidates` hold what counts now, so that search and tally need no look at the past.
"""

from __future__ import annotations

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
    Text,
)

VERSION = "0001"  # the newest migration; a database with an unknown one is from a newer program

metadata = MetaData()

parts = Table(
    "parts",
    metadata,
    Column("code", Text, primary_key=True),  # ten letters, printed on the label
    Column("source", Text, unique=True),  # the group of photos it came from, NULL if by hand
    Column("kind", Text, nullable=False),  # tyre, rim, tube, unknown
    Column("bsd", Integer),  # mm, what counts now; NULL if unknown
    Column("width", Float),  # mm
    Column("probability", Float, nullable=False),  # 0..1, 1 once a person settled it
    Column("verdict", Text, nullable=False),  # of the newest reading
    Column("state", Text, nullable=False),  # open, accepted, corrected, again
    Column("rim_kind", Text, nullable=False),  # '', C, SS, TSS, TC, HB
    Column("tube_label", Text, nullable=False),  # '37/57-559': what a tube suits
    Column("bin", Text, nullable=False),
    Column("shelf", Text, nullable=False),
    Column("condition", Text, nullable=False),
    Column("quantity", Integer, nullable=False),  # alike and together; 0 once they are gone
    Column("note", Text, nullable=False),
    Column("arrived", Text, nullable=False),  # ISO date, of the oldest photo
    Column("gain", Float, nullable=False),  # bits x quantity a minute, what a look would settle
    Column("skips", Integer, nullable=False),
    Index("parts_by_size", "bsd", "kind", "width"),
    Index("parts_by_place", "bin", "shelf"),
    Index("parts_by_gain", "state", "gain"),
)

candidates = Table(
    "candidates",
    metadata,
    Column("part", Text, ForeignKey("parts.code", ondelete="CASCADE"), primary_key=True),
    Column("rank", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("bsd", Integer, nullable=False),
    Column("width", Float),
    Column("probability", Float, nullable=False),
    Index("candidates_by_size", "bsd", "kind", "width", "part", "probability"),
)

photos = Table(
    "photos",
    metadata,
    Column("digest", Text, primary_key=True),  # BLAKE2b of the file's bytes
    Column("part", Text, ForeignKey("parts.code"), nullable=False),
    Column("name", Text, nullable=False),
    Column("path", Text, nullable=False),
    Column("taken", Text, nullable=False),  # ISO date and time, from the camera or the file
    Column("state", Text, nullable=False),  # read, failed, replaced
    Column("reason", Text, nullable=False),  # why it failed
    Index("photos_by_part", "part"),
)

files = Table(  # what the intake has seen; spares looking into an unchanged file again
    "files",
    metadata,
    Column("path", Text, primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    Column("mtime_ns", BigInteger, nullable=False),
    Column("digest", Text, nullable=False),
    Column("taken", Text, nullable=False),
    Column("label", Text),  # text of the QR code seen in it; NULL: not looked for, '': none
)

readings = Table(
    "readings",
    metadata,
    Column("part", Text, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("photos", Text, nullable=False),  # digests, sorted, one space between
    Column("verdict", Text, nullable=False),
    Column("shares", Text, nullable=False),  # JSON: kind, bsd, width, probability of each size
    Column("document", Text, nullable=False),  # the whole reading with its evidence, JSON
    Column("strip", LargeBinary),  # PNG of the straightened marking
    Column("seconds", Float, nullable=False),
    Column("made_at", Text, nullable=False),
)

corrections = Table(
    "corrections",
    metadata,
    Column("part", Text, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("reading", Integer),  # which reading it is about
    Column("action", Text, nullable=False),  # accepted, corrected, again, skipped
    Column("kind", Text, nullable=False),
    Column("bsd", Integer),
    Column("width", Float),
    Column("text", Text, nullable=False),  # the marking letter by letter, as the person reads it
    Column("person", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)

history = Table(
    "history",
    metadata,
    Column("part", Text, ForeignKey("parts.code"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("what", Text, nullable=False),  # came in, read, accepted, moved, …
    Column("detail", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)

wanted = Table(
    "wanted",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("kind", Text, nullable=False),
    Column("bsd", Integer, nullable=False),
    Column("width_min", Float),
    Column("width_max", Float),
    Column("quantity", Integer, nullable=False),
    Column("note", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)
