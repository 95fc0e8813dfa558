"""Adding a single part, from a reading or from what a person says."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from reader.catalogue.columns import Part
from reader.catalogue.db import codes
from reader.catalogue.db.parts import get_part, told
from reader.catalogue.db.records import Arrival, Findings, PhotoRef, Place
from reader.catalogue.db.store import Catalogue
from reader.catalogue.intake.findings import findings_of
from reader.catalogue.intake.insert import record
from reader.catalogue.intake.photofile import photo_ref
from reader.catalogue.review.settle import check_size, correct
from reader.errors import InputError
from reader.records import PartKind, Reading, Size


def add_part(
    catalogue: Catalogue,
    reading: Reading | Findings | None = None,
    photos: Sequence[Path | PhotoRef] = (),
    place: Place | None = None,
    *,
    size: Size | None = None,
    kind: PartKind = "unknown",
    code: str | None = None,
    person: str = "",
    **said: Any,
) -> Part:
    """Add one part; photos that are in the catalogue already lead to the part they belong to.

    Args:
        catalogue: where to.
        reading: what was read; None if a person says the size.
        photos: the files, which stay where they are, or references to them.
        place: bin and shelf.
        size: what a person says it is, mm; settles the part. The reading, if any, is kept.
        kind: what the user says it is.
        code: of a label that was printed beforehand.
        person: who says so.
        **said: what else a person says of it: columns of `columns.TOLD`, as quantity=2.

    Raises:
        InputError: neither reading nor size, a photo that can't be opened, nonsense in a number.
        CatalogueError: it could not be written.
    """
    if reading is None and size is None:
        raise InputError("a part without reading and size", "give one of the two")
    if size is not None:
        check_size(size)
    values = told(said)
    if values.get("quantity", 1) < 1:
        raise InputError(f"a quantity of {values['quantity']}", "give 1 or more pieces")
    findings = findings_of(reading) if isinstance(reading, Reading) else reading
    refs = tuple(p if isinstance(p, PhotoRef) else photo_ref(p) for p in photos)
    taken = sorted(ref.taken[:10] for ref in refs if ref.taken)
    arrival = Arrival(
        photos=refs,
        findings=findings,
        code=codes.tidy(code) if code else None,
        kind=kind,
        place=place or Place(),
        arrived=taken[0] if taken else "",
        said=values,
        person=person,
    )
    added = record(catalogue, arrival)
    if size is not None:
        meant = kind if kind != "unknown" else ""
        return correct(catalogue, added, size, meant, "", person, values.get("rim_kind", ""))
    return get_part(catalogue, added)
