"""Rolling direction: ROTATION, DRIVE, DIRECTION F. No size, and F or R is no French letter.

Sources: 'direction' with F and R in a maker's technical pages; other words from memory.

>>> [(m.text, m.numbers["value"]) for m in find("ROTATION  DIRECTION F")]
[('ROTATION', 'any'), ('DIRECTION F', 'front')]
"""

from __future__ import annotations

from reader.markings.notation import Kind, Notation, Tells
from reader.markings.words import search

NAME = "direction"
_HEADS = ("DIRECTION OF ROTATION", "ROTATION", "DIRECTION", "DREHRICHTUNG", "LAUFRICHTUNG", "DRIVE")
_WHEELS = (("FRONT", "front"), ("REAR", "rear"))
_WORDS = (
    *((f"{head} {wheel}", value) for head in _HEADS for wheel, value in _WHEELS),
    *((f"{wheel} {head}", value) for head in _HEADS for wheel, value in _WHEELS),
    ("DIRECTION F", "front"),
    ("DIRECTION R", "rear"),
    *((head, "any") for head in _HEADS),
)

NOTATION = Notation(
    name=NAME,
    kind=Kind.FACT,
    tells=Tells.NOTHING,
    label="rolling direction",
    title="rolling direction",
    clean=search(NAME, _WORDS),
    tyre_text=1.0,
)
find = NOTATION.find
