"""The part whose label is in a photo, found by the QR code on it."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from reader.catalogue.columns import Part
from reader.catalogue.db import codes
from reader.catalogue.db.parts import PARTS, part_of
from reader.catalogue.db.store import Catalogue
from reader.errors import InputError
from reader.photo.load import codes as codes_in


def find_by_photo(catalogue: Catalogue, photo: Path) -> Part:
    """The part whose label, with its QR code, is in the photo.

    Raises:
        PhotoError: no usable photo.
        InputError: no label of a part of this catalogue is to be seen.
    """
    seen = codes_in(photo)
    for text in seen.texts:
        try:
            code = codes.tidy(text)
        except InputError:
            continue
        with catalogue.read() as connection:
            row = connection.execute(sa.select(PARTS).where(PARTS.c.code == code)).mappings()
            found = row.first()
        if found is not None:
            return part_of(found)
    what = "a QR code, but of no part in this catalogue" if seen.texts else "no QR code to be read"
    if seen.unread:
        what = "a QR code that is too blurred, dirty or cut to be read"
    raise InputError(f"{photo.name} shows {what}", "photograph the label closer and straight on")
