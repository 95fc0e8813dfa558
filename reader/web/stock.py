"""The catalogue as the pages use it, and the folder in which the pages' photos are kept."""

from __future__ import annotations

import hashlib
import secrets
import shutil
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from reader import catalogue as store
from reader.catalogue.db import schema
from reader.records import PartKind
from reader.web.parts import Part as BenchPart


@dataclass(frozen=True)
class Entry:
    """How a part shall stand in the catalogue, and who says so."""

    place: store.Place
    condition: str = ""
    quantity: int = 1
    person: str = ""


class Stock:
    """An open catalogue and its folder of photos; safe to use from several threads."""

    def __init__(self, where: str, photos: Path) -> None:
        """Open or make both.

        Raises:
            CatalogueError: the catalogue can't be opened.
        """
        self.catalogue = store.open_catalogue(where, whole=True)
        self._photos = photos
        self.changing = threading.Lock()  # held from looking at a part until it is changed

    def close(self) -> None:
        """Let go of the database."""
        self.catalogue.close()

    def bins(self) -> list[str]:
        """Names of all bins that hold something, in order."""
        bins = schema.parts.c.bin
        query = sa.select(bins).where(bins != "", schema.parts.c.quantity > 0).distinct()
        with self.catalogue.read() as connection:
            return sorted(connection.scalars(query))

    def put(self, part: BenchPart, kind: PartKind, entry: Entry) -> store.Part:
        """Bring a part from the bench into the catalogue, with clean copies of its photos.

        Raises:
            InputError: neither a reading nor a word of the visitor's tells a size.
            CatalogueError: it could not be written; then no photo stays behind either.
        """
        refs = list(self._keep(part))
        kept: set[str] = set()
        try:
            added = store.add_part(
                self.catalogue,
                part.outcome.findings if part.outcome else None,
                refs,
                entry.place,
                size=part.chosen,
                rim_kind=part.chosen_edge,
                kind=kind,
                person=entry.person,
                quantity=entry.quantity,
                condition=entry.condition,
            )
            kept = set(store.review_item(self.catalogue, added.code).photos)
            return added
        finally:  # a photo that the catalogue knew already keeps its first copy
            for ref in refs:
                if ref.path not in kept:
                    Path(ref.path).unlink(missing_ok=True)

    def _keep(self, part: BenchPart) -> Iterator[store.PhotoRef]:
        self._photos.mkdir(mode=0o700, parents=True, exist_ok=True)
        for picture in clean_pictures(part):
            path = self._photos / f"{secrets.token_hex(16)}.jpg"
            shutil.copyfile(picture, path)
            yield store.PhotoRef(digest_of(path), str(path.absolute()), path.name)

    def same_photos(self, part: BenchPart) -> store.Part | None:
        """The part of the catalogue that has one of these very photos, if any."""
        digests = [digest_of(path) for path in clean_pictures(part)]
        photos = schema.photos.c
        query = sa.select(photos.part).where(photos.digest.in_(digests)).limit(1)
        with self.catalogue.read() as connection:
            code = connection.scalar(query)
        return self.find(code) if code else None

    def find(self, code: str) -> store.Part:
        """One part by its code.

        Raises:
            InputError: there is none.
        """
        return store.get_part(self.catalogue, code)


def clean_pictures(part: BenchPart) -> list[Path]:
    """The files of the part's pictures at full size, without anything but pixels."""
    if part.drawn is None:
        return []
    return [part.drawn / picture.full for picture in part.pictures if picture.full]


def digest_of(path: Path) -> str:
    """The mark by which the catalogue knows a photo again."""
    return hashlib.blake2b(path.read_bytes(), digest_size=20).hexdigest()
