"""Adding a single part, from a reading or from what a person says."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reader.catalogue.db import codes
from reader.catalogue.db.parts import get_part
from reader.catalogue.db.records import Arrival, Findings, Part, PhotoRef, Place
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
    quantity: int = 1,
    condition: str = "",
    note: str = "",
    rim_kind: str = "",
    tube_label: str = "",
    person: str = "",
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
        quantity: pieces, alike and lying together.
        condition: free text, e.g. 'worn'.
        note: free text.
        rim_kind: edge of a rim: C, SS, TSS, TC, HB, TUBULAR.
        tube_label: what a tube suits, as 37/57-559.
        person: who says so.

    Raises:
        InputError: neither reading nor size, a photo that can't be opened, nonsense in a number.
        CatalogueError: it could not be written.
    """
    if reading is None and size is None:
        raise InputError("a part without reading and size", "give one of the two")
    if size is not None:
        check_size(size)
    if quantity < 0:
        raise InputError(f"a quantity of {quantity}", "give 0 or more")
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
        condition=condition,
        quantity=quantity,
        note=note,
        rim_kind=rim_kind,
        tube_label=tube_label,
    )
    added = record(catalogue, arrival)
    if size is not None:
        said = kind if kind != "unknown" else ""
        return correct(catalogue, added, size, said, "", person, rim_kind)
    return get_part(catalogue, added)
