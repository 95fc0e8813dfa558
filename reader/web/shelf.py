"""The catalogue as the pages use it, and the folder in which the pages' photos are kept."""

from __future__ import annotations

import hashlib
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

import sqlalchemy as sa

from reader import catalogue as store
from reader.catalogue.db import schema
from reader.records import PartKind
from reader.web.parts import Part as BenchPart


class Shelf:
    """An open catalogue and its folder of photos; safe to use from several threads."""

    def __init__(self, where: str, photos: Path) -> None:
        """Open or make both.

        Raises:
            CatalogueError: the catalogue can't be opened.
        """
        self.catalogue = store.open_catalogue(where)
        self._photos = photos

    def close(self) -> None:
        """Let go of the database."""
        self.catalogue.close()

    def bins(self) -> list[str]:
        """Names of all bins that hold something, in order."""
        bins = schema.parts.c.bin
        query = sa.select(bins).where(bins != "", schema.parts.c.quantity > 0).distinct()
        with self.catalogue.read() as connection:
            return sorted(connection.scalars(query))

    def put(
        self,
        part: BenchPart,
        kind: PartKind,
        place: store.Place,
        condition: str = "",
        quantity: int = 1,
    ) -> store.Part:
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
                place,
                size=part.chosen,
                rim_kind=part.chosen_edge,
                kind=kind,
                quantity=quantity,
                condition=condition,
            )
            kept = set(store.review_item(self.catalogue, added.code).photos)
            return added
        finally:  # a photo that the catalogue knew already keeps its first copy
            for ref in refs:
                if ref.path not in kept:
                    Path(ref.path).unlink(missing_ok=True)

    def _keep(self, part: BenchPart) -> Iterator[store.PhotoRef]:
        self._photos.mkdir(mode=0o700, parents=True, exist_ok=True)
        for picture in part.pictures:
            if not picture.full or part.drawn is None:
                continue
            path = self._photos / f"{secrets.token_hex(16)}.jpg"
            shutil.copyfile(part.drawn / picture.full, path)
            digest = hashlib.blake2b(path.read_bytes(), digest_size=20).hexdigest()
            yield store.PhotoRef(digest, str(path.absolute()), path.name)

    def find(self, code: str) -> store.Part:
        """One part by its code.

        Raises:
            InputError: there is none.
        """
        return store.get_part(self.catalogue, code)
