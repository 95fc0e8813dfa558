"""A photo file as the catalogue knows it, without reading the marking."""

from __future__ import annotations

from pathlib import Path

from reader.catalogue.db.records import PhotoRef
from reader.errors import PhotoError
from reader.photo import load
from reader.photo.files import digest, printable


def photo_ref(path: Path) -> PhotoRef:
    """A file as the catalogue knows photos.

    Raises:
        PhotoError: it can't be opened.
    """
    content = digest(path, printable(str(path)))
    return PhotoRef(content, str(path.absolute()), path.name, taken(path))


def taken(path: Path) -> str:
    """When the camera says the photo was taken: ISO date and time, '' if it does not say.

    What is wrong with a picture is told when it is read, not here.
    """
    try:
        return load.taken(path)
    except PhotoError:
        return ""
