"""Every step of a reading as a numbered picture in a folder, to see where a marking got lost."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np

from reader.errors import PhotoError
from reader.photo.enhance import VARIANTS, enhance
from reader.photo.overlay import (
    draw_regions,
    overlay,
    save,
    shrunk,
    strip_card,
)
from reader.records import Photo, Pixels, Reading, Region, Strip


class StageWriter:
    """Writes pictures named `NN-what-PHOTO.png` or `.jpg`, numbered in the order of the calls.

    Args:
        folder: made when missing; files of the same names are replaced.

    Raises:
        PhotoError: the folder can't be made, or a picture can't be written.
    """

    def __init__(self, folder: Path) -> None:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            reason = error.strerror or error
            raise PhotoError(
                f"folder {folder} can't be made ({reason})", "choose another folder"
            ) from error
        self.folder = folder
        self._count = 0

    def photo(self, photo: Photo) -> Path:
        """The photo as it was loaded: upright."""
        return self._write("photo", photo.name, shrunk(photo.pixels)[0])

    def regions(self, photo: Photo, regions: Sequence[Region]) -> Path:
        """Outlines of all regions that will be read."""
        return self._write("regions", photo.name, draw_regions(photo, tuple(regions)))

    def strips(self, photo: Photo, strips: Sequence[Strip], texts: Sequence[str] = ()) -> Path:
        """All strips below each other, with the text that was read in each."""
        lines = list(texts) + [""] * (len(strips) - len(texts))
        cards = [
            strip_card(strip, f"{n}  {t}")
            for n, (strip, t) in enumerate(zip(strips, lines, strict=False))
        ]
        return self._write("strips", photo.name, stacked(cards))

    def variants(self, strip: Strip) -> Path:
        """One strip in every enhanced variant, and with wider and narrower letters."""
        cards = [strip_card(enhance(strip, name), name) for name in VARIANTS]
        return self._write("variants", strip.region.photo.name, stacked(cards))

    def answer(self, photo: Photo, reading: Reading) -> Path:
        """The photo with the markings that were read."""
        return self._write("answer", photo.name, overlay(photo, reading))

    def _write(self, what: str, name: str, pixels: Pixels) -> Path:
        self._count += 1
        stem = re.sub(r"[^A-Za-z0-9._-]+", "-", Path(name).stem).strip("-.")[:60] or "photo"
        ending = "png" if what in ("strips", "variants") else "jpg"
        path = self.folder / f"{self._count:02d}-{what}-{stem}.{ending}"
        save(pixels, path)
        return path


def stacked(cards: Sequence[Pixels], widest: int = 4000, tallest: int = 20000) -> Pixels:
    """Pictures below each other, left-aligned on black, cut to a size that viewers can open."""
    if not cards:
        return np.zeros((40, 400, 3), np.uint8)
    width = min(widest, max(card.shape[1] for card in cards))
    rows = [
        cv2.copyMakeBorder(
            card[:, :width], 0, 4, 0, width - card[:, :width].shape[1], cv2.BORDER_CONSTANT
        )
        for card in cards
    ]
    return np.asarray(np.vstack(rows)[:tallest], np.uint8)
