"""Which photos show the same part: by folder, by time gap, or by a part code in the picture."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Literal

from reader.catalogue.db import codes
from reader.catalogue.db.records import Place
from reader.catalogue.intake.files import SeenFile
from reader.errors import InputError
from reader.language import N_
from reader.photo.files import printable
from reader.photo.formats import SUFFIXES

By = Literal["folder", "time", "code"]
GAP_SECONDS = 20.0
MOST_PHOTOS = 24  # of one part; a folder with more was surely not meant as one part


@dataclass(frozen=True)
class Group:
    """The photos of one part."""

    source: str  # the same from run to run
    files: tuple[SeenFile, ...]
    place: Place
    code: str | None = None  # of a printed label in the picture

    @property
    def day(self) -> str:
        """ISO date of the oldest photo."""
        return min(file.moment for file in self.files).date().isoformat()


@dataclass(frozen=True)
class LeftOut:
    """A file that is not read, and why."""

    path: str
    reason: str


def group(
    files: Sequence[SeenFile], by: By = "folder", gap: float = GAP_SECONDS, most: int = MOST_PHOTOS
) -> tuple[list[Group], list[LeftOut]]:
    """Sort files into parts; groups come sorted by source.

    Args:
        files: looked at (for 'code': with labels).
        by: 'folder': the photos directly in one folder are one part; 'time': a pause longer than
            `gap` seconds begins a new part; 'code': a photo that shows a QR code begins the part
            with that code, photos without one belong to the part before; a picture that can't
            be opened, or shows a code that can't be read, may be such a label, so what follows
            it is left out up to the next label.
        gap: seconds.
        most: photos; a larger group is left out.
    """
    left = [LeftOut(str(file.path), file.trouble) for file in files if file.trouble]
    if by == "code":
        files, held = _held(files)
        left += held
    good = [file for file in files if not file.trouble]
    make: dict[str, Callable[[list[SeenFile]], Iterator[Group | LeftOut]]] = {
        "folder": _by_folder,
        "time": lambda folder: _by_time(folder, gap),
        "code": _by_code,
    }
    groups: list[Group] = []
    for _, folder in groupby(good, key=lambda file: file.path.parent):
        for item in make[by](list(folder)):
            if isinstance(item, LeftOut):
                left.append(item)
            elif len(item.files) > most:
                left += [LeftOut(str(file.path), _too_many(item, most)) for file in item.files]
            else:
                groups.append(item)
    return sorted(_joined(groups), key=lambda group: group.source), left


def _held(files: Sequence[SeenFile]) -> tuple[list[SeenFile], list[LeftOut]]:
    """Take out the photos that follow a picture in trouble: it may show the next part's label.

    The time of such a picture is often unknown, so that it is placed by its name as well.
    """
    held: dict[Path, str] = {}
    for _, folder in groupby(files, key=lambda file: file.path.parent):
        some = list(folder)
        for order in (_in_time(some), some):
            doubt = ""
            for file in order:
                if file.label:
                    doubt = ""
                elif file.trouble and file.path.suffix.lower() in SUFFIXES:
                    doubt = printable(file.path.name)
                elif doubt and not file.trouble:
                    held[file.path] = _after(doubt)
    left = [LeftOut(str(path), reason) for path, reason in held.items()]
    return [file for file in files if file.path not in held], left


def _after(name: str) -> str:
    return N_(
        f"it follows {name}, which can't be read and may show the next label: bring back "
        "that picture, photograph label and part again, or take it out if it shows no label"
    )


def _too_many(group: Group, most: int) -> str:
    return N_(
        f"{len(group.files)} photos together, more than {most} for one part: "
        "use one folder a part, --by time or --by code"
    )


def _by_folder(files: list[SeenFile]) -> Iterator[Group]:
    folder, root = files[0].path.parent, files[0].root
    bin = root.name if folder == root else folder.parent.name
    yield Group(str(folder), tuple(files), Place(bin))


def _in_time(files: list[SeenFile]) -> list[SeenFile]:
    return sorted(files, key=lambda file: (file.moment, file.path))


def _by_time(files: list[SeenFile], gap: float) -> Iterator[Group]:
    files = _in_time(files)
    start = 0
    for index in range(1, len(files) + 1):
        if index < len(files):
            pause = files[index].moment - files[index - 1].moment
            if pause.total_seconds() <= gap:
                continue
        some = tuple(files[start:index])
        yield Group(str(some[0].path), some, Place(some[0].path.parent.name))
        start = index


def _by_code(files: list[SeenFile]) -> Iterator[Group | LeftOut]:
    current: list[SeenFile] = []
    label = ""
    for file in _in_time(files):
        if file.label and file.label != label:
            if current:
                yield _coded(label, current)
            label, current = file.label, []
        if label:
            current.append(file)
        else:
            reason = N_("no part code in it or in a photo before it: show the label first")
            yield LeftOut(str(file.path), reason)
    if current:
        yield _coded(label, current)


def _coded(label: str, files: list[SeenFile]) -> Group:
    try:
        code: str | None = codes.tidy(label)
    except InputError:  # another QR code, e.g. of a shelf: names the part just as well
        code = None
    source = f"code:{code or label}"
    return Group(source, tuple(files), Place(Path(files[0].path).parent.name), code)


def _joined(groups: list[Group]) -> list[Group]:
    """One group a source: a code may be seen in several folders or at several times."""
    by_source: dict[str, Group] = {}
    for item in groups:
        old = by_source.get(item.source)
        if old is not None:
            item = Group(item.source, old.files + item.files, old.place, old.code)
        by_source[item.source] = item
    return list(by_source.values())
