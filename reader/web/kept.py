"""What is written down of a part on the bench, so that a killed server reads on where it was.

Each part has a folder with a small JSON file, the photos that were accepted but not yet read, the
clean pictures of the last reading, and that reading's outcome.
"""

from __future__ import annotations

import io
import json
import os
import pickle
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from reader.records import Size
from reader.web.state import read_json, write_whole
from reader.web.worker import Outcome, Source

SHEET, OUTCOME = "part.json", "outcome"
TRUSTED = ("reader.", "numpy")  # modules whose classes an outcome is made of
PLAIN = {"builtins": {"dict", "tuple", "list", "set", "frozenset", "float", "int", "str", "bytes"}}


class Outcomes(pickle.Unpickler):
    """Loads outcomes only: classes of ours and plain values, nothing that runs something."""

    def find_class(self, module: str, name: str) -> Any:
        """The class, if an outcome can hold it."""
        if module.startswith(TRUSTED) or name in PLAIN.get(module, ()) or module == "pathlib":
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is no part of an outcome")


def write_outcome(folder: Path, outcome: Outcome) -> None:
    """Keep the outcome of a reading."""
    write_whole(folder / OUTCOME, pickle.dumps(outcome))


def read_outcome(folder: Path) -> Outcome | None:
    """The outcome kept in the folder; None if there is none, or another version wrote it."""
    try:
        found = Outcomes(io.BytesIO((folder / OUTCOME).read_bytes())).load()
    except Exception:  # a damaged pickle can raise anything; the photos are then read again
        return None
    return found if isinstance(found, Outcome) else None


def write_sheet(folder: Path, values: Mapping[str, Any]) -> None:
    """Keep what is known of a part."""
    write_whole(folder / SHEET, json.dumps(values).encode())


def read_sheet(folder: Path) -> dict[str, Any]:
    """What was kept of a part; empty if nothing was, or it is damaged."""
    return read_json(folder / SHEET)


def source_values(source: Source, folder: Path) -> dict[str, Any]:
    """A source as JSON holds it, its path told from the part's folder."""
    path = str(source.path.relative_to(folder))
    return {"path": path, "turn": source.turn, "box": list(source.box) if source.box else None}


def source_from(values: Mapping[str, Any], folder: Path) -> Source:
    """A source from what JSON held."""
    box = values["box"]
    left, top, width, height = box or (0.0, 0.0, 0.0, 0.0)
    return Source(
        folder / values["path"], values["turn"], (left, top, width, height) if box else None
    )


def size_values(size: Size | None) -> list[float | None] | None:
    """A size as JSON holds it."""
    return [size.bsd, size.width] if size else None


def size_from(values: list[Any] | None) -> Size | None:
    """A size from what JSON held."""
    return Size(int(values[0]), values[1]) if values else None


def settled(photo: bytes | Path, path: Path) -> Path:
    """Bring a photo to its place on the disk for good."""
    if isinstance(photo, Path):
        photo.replace(path)
    else:
        path.write_bytes(photo)
    with path.open("rb") as file:
        os.fsync(file.fileno())
    return path


def fulls(folder: Path | None) -> list[Path]:
    """The clean pictures of an earlier reading, in the order of the photos."""
    if folder is None:
        return []
    pictures = [path for path in folder.glob("*.jpg") if path.stem.isdigit()]
    return sorted(pictures, key=lambda path: int(path.stem))
