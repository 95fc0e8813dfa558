"""From photos to the answer: the stages in order, on one page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from reader.records import PartKind, Photo, Reading

Progress = Callable[[str, float], None]  # name of the step, share done 0..1


@dataclass(frozen=True)
class Settings:
    """What a user may choose.

    `engines` names entries of `reader.ocr.ENGINES`; `market` names a column of the prior table.
    """

    engines: tuple[str, ...] = ("moulded", "scene", "tesseract")
    market: str = "world"
    stages: Path | None = None  # folder for a picture of every stage


def read(
    photos: Sequence[Photo], settings: Settings | None = None, progress: Progress | None = None
) -> Reading:
    """Read all photos of ONE part together."""
    raise NotImplementedError


def read_files(
    paths: Sequence[Path],
    part: PartKind = "unknown",
    box: tuple[int, int, int, int] | None = None,
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> Reading:
    """Load the files and read them as photos of ONE part.

    Raises:
        PhotoError: a file is not a photo that can be read.
    """
    raise NotImplementedError
