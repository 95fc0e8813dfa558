"""Finding the photos under some folders, and knowing each by its content."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from reader.catalogue.db import schema
from reader.catalogue.db.parts import try_again
from reader.catalogue.db.records import PhotoRef
from reader.catalogue.db.store import Catalogue
from reader.catalogue.intake.photofile import taken
from reader.errors import InputError, PhotoError
from reader.photo.files import OPEN_UP, digest, is_folder, printable, status_of
from reader.photo.formats import CLIP_SUFFIXES, SUFFIXES
from reader.photo.load import codes

FILES = schema.files
LATEST = 2**63 - 1  # nanoseconds since 1970 that a database holds: up to the year 2262
BATCH = 200  # files looked at between two writes; a kill costs at most these looks


@dataclass(frozen=True)
class SeenFile:
    """A photo file as it lies on the disk now."""

    path: Path
    root: Path  # the folder given by the user
    bytes: int
    mtime_ns: int
    digest: str = ""
    taken: str = ""  # ISO date and time from the camera, '' if none
    label: str | None = None  # text of the QR code in it, '' if none, None if not looked for
    trouble: str = ""  # why it can't be looked at

    @property
    def moment(self) -> datetime:
        """When it was taken; by the file's own time if the camera does not tell."""
        if self.taken:
            return datetime.fromisoformat(self.taken).replace(tzinfo=UTC)
        return datetime.fromtimestamp(self.mtime_ns / 1e9, UTC)

    @property
    def ref(self) -> PhotoRef:
        """As the catalogue knows it."""
        return PhotoRef(self.digest, str(self.path), self.path.name, self.taken)


def assure_folders(folders: Sequence[Path]) -> None:
    """Look whether all are there.

    Raises:
        InputError: a folder is not there, or is no folder.
    """
    for folder in folders:
        if not is_folder(folder):
            what = "is not a folder" if os.path.lexists(folder) else "does not exist"
            name = printable(str(folder))
            raise InputError(f"{name} {what}", "name the folder that holds the photos")


def find_files(folders: Sequence[Path]) -> list[SeenFile]:
    """All photos and clips under the folders, each once, sorted by path.

    Raises:
        InputError: a folder is not there, or is no folder.
    """
    assure_folders(folders)
    found: dict[Path, SeenFile] = {}
    for folder in folders:
        root, closed = folder.resolve(), list[Path]()
        for path in _walk(root, closed):
            if path not in found:
                found[path] = _stat(path, root)
        closed_folder = f"the folder may not be read: {OPEN_UP}"
        for path in closed:
            found[path] = SeenFile(path, root, 0, 0, trouble=closed_folder)
    return [found[path] for path in sorted(found)]


def _walk(root: Path, closed: list[Path]) -> Iterator[Path]:
    """The pictures, by their names; folders that can't be looked into are added to `closed`."""

    def on_error(error: OSError) -> None:
        closed.append(Path(error.filename))

    for here, folders, names in os.walk(root, onerror=on_error):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = Path(here, name)
            if not name.startswith(".") and path.suffix.lower() in SUFFIXES | CLIP_SUFFIXES:
                yield path


def _stat(path: Path, root: Path) -> SeenFile:
    try:
        status = status_of(path, "the file")
    except PhotoError as error:
        return SeenFile(path, root, 0, 0, trouble=str(error))
    if not _can_be_kept(path):
        trouble = "its name, or a folder's, is not in the system's encoding: rename it"
        return SeenFile(path, root, 0, 0, trouble=trouble)
    return SeenFile(path, root, status.st_size, min(max(status.st_mtime_ns, -LATEST), LATEST))


def _can_be_kept(path: Path) -> bool:
    """Whether a database can hold the path: bytes that are no UTF-8 become no text."""
    try:
        str(path).encode()
    except UnicodeEncodeError:
        return False
    return True


def look_at(
    catalogue: Catalogue,
    files: Sequence[SeenFile],
    labels: bool = False,
    trust: bool = True,
    progress: Callable[[int], None] | None = None,
) -> list[SeenFile]:
    """Fill in content hash, camera time and, if asked, QR code; in the same order.

    A file with the same path, size and time as when it was seen last is not opened again.

    Args:
        catalogue: remembers what was seen.
        files: from `find_files`.
        labels: look for QR codes too.
        trust: take size and time as proof that a file did not change.
        progress: called with the number of files done.
    """
    done: list[SeenFile] = []
    with ThreadPoolExecutor(os.cpu_count()) as threads:
        for start in range(0, len(files), BATCH):
            some = files[start : start + BATCH]
            seen = _remembered(catalogue, some) if trust else {}
            known = [seen.get(str(file.path), file) for file in some]
            known = [_same(old, new) for old, new in zip(known, some, strict=True)]
            looked = list(threads.map(lambda file: _look(file, labels), known))
            fresh = [new for old, new in zip(known, looked, strict=True) if new != old]
            _remember(catalogue, [file for file in fresh if file.digest])
            done += looked
            if progress is not None:
                progress(len(done))
    return done


def _same(old: SeenFile, new: SeenFile) -> SeenFile:
    unchanged = (old.bytes, old.mtime_ns) == (new.bytes, new.mtime_ns)
    return replace(old, root=new.root, trouble=new.trouble) if unchanged else new


def _look(file: SeenFile, labels: bool) -> SeenFile:
    if file.trouble:
        return file
    try:
        if not file.digest:
            file = replace(file, digest=digest(file.path, "the file"), taken=taken(file.path))
        if labels and file.label is None:
            file = replace(file, label=_label(file.path))
    except PhotoError as error:
        return replace(file, trouble=str(error))
    return file


def _label(path: Path) -> str:
    """Text of the QR code in a photo, '' without one; clips follow the photo of their label.

    Raises:
        PhotoError: no usable photo, or one of a label whose code can't be read.
    """
    if path.suffix.lower() in CLIP_SUFFIXES:
        return ""
    seen = codes(path)
    if seen.unread:
        raise PhotoError(
            "it seems to show a label whose code is too blurred, dirty or cut to be read",
            "photograph it again",
        )
    return min(seen.texts, default="")


def _remembered(catalogue: Catalogue, files: Sequence[SeenFile]) -> dict[str, SeenFile]:
    paths = [str(file.path) for file in files if not file.trouble]
    query = sa.select(FILES).where(FILES.c.path.in_(paths))
    with catalogue.read() as connection:
        rows = connection.execute(query).mappings().all()
    return {
        row["path"]: SeenFile(root=Path(), **{**row, "path": Path(row["path"])}) for row in rows
    }


def _remember(catalogue: Catalogue, files: Sequence[SeenFile]) -> None:
    rows = [
        {
            "path": str(file.path),
            "bytes": file.bytes,
            "mtime_ns": file.mtime_ns,
            "digest": file.digest,
            "taken": file.taken,
            "label": file.label,
        }
        for file in files
    ]
    if not rows:
        return

    def act() -> None:
        with catalogue.write() as connection:
            paths = [row["path"] for row in rows]
            connection.execute(sa.delete(FILES).where(FILES.c.path.in_(paths)))
            connection.execute(sa.insert(FILES), rows)

    try_again(act, catalogue.name)
