"""What a reading process does: photos in as files, the answer and clean pictures out.

Only this module touches the bytes that a visitor sent. It runs in a process of its own, so that a
picture that brings a decoder down takes no page with it.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from reader.catalogue.db.records import Findings
from reader.errors import PhotoError, ReaderError
from reader.records import PartKind, Photo, Pixels, Reading

VIEW_SIDE = 1400  # longest side of the picture that the page shows, pixels
THUMB_SIDE = 112

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Source:
    """One photo to read: its file and what the visitor said about it.

    `box` is x, y, width, height as shares (0..1) of the upright picture; `turn` counts quarter
    turns to the right, applied after the camera's own orientation.
    """

    path: Path
    turn: int = 0
    box: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Task:
    """One part to read; pictures are written to `folder`, which the server made."""

    sources: tuple[Source, ...]
    folder: Path
    part: PartKind = "unknown"
    market: str = "world"


@dataclass(frozen=True)
class Picture:
    """A photo as kept: upright, without metadata. Names are files in the part's folder."""

    full: str
    view: str
    width: int
    height: int
    error: str = ""  # why it could not be read; then the names are empty
    thumb: str = ""


@dataclass(frozen=True)
class Line:
    """One marking that was found, and the picture of its strip."""

    notation: str
    text: str
    numbers: Mapping[str, float | str]
    engine: str
    photo: int  # 1 for the first
    also: tuple[str, ...] = ()  # further notations that the same text can be
    diameters: tuple[int, ...] = ()  # bead seat diameters that it can mean, mm
    outline: tuple[tuple[float, float], ...] = ()  # around it, as shares of the photo's sides
    picture: str = ""
    width: int = 0
    height: int = 0


@dataclass(frozen=True)
class Outcome:
    """What comes back: a reading without arrays, the pictures, the lines that were found."""

    reading: Reading | None
    pictures: tuple[Picture, ...] = ()
    lines: tuple[Line, ...] = ()
    document: Mapping[str, Any] = field(default_factory=dict)
    findings: Findings | None = None  # what the catalogue would keep
    error: str = ""
    remedy: str = ""
    wheel: tuple[str, ...] = ()  # of a tyre on its rim: whether the two are right for each other
    wheel_seen: bool = False  # whether both were seen; else `wheel` asks for the photo lacking


Work = Callable[[Task, Progress], Outcome]


def read_part(task: Task, progress: Progress) -> Outcome:
    """Read all photos and clips of one part together.

    Photos that can't be opened are named in their `Picture`; the others are read all the same.
    """
    from reader import pipeline
    from reader.cascade import PATIENCE
    from reader.web.sweeping import is_clip, joined, keep_looks, kept_looks, read_clip, recalled

    readings: list[Reading] = []
    photos, pictures, stills = [], [], []
    try:
        for number, source in enumerate(task.sources, start=1):
            name, looks = f"photo {number}", kept_looks(source)
            if looks is not None or not is_clip(source.path):
                photo, picture = open_one(source, task, number)
                if photo is not None and looks is not None:
                    readings.append(recalled(looks, name, task.part, task.market))
                    shutil.copy(looks, task.folder / f"{number}{looks.suffix}")
                elif photo is not None:
                    stills.append(photo)
            else:
                try:
                    reading, photo = read_clip(source, name, task.part, task.market, progress)
                except PhotoError as error:
                    photo, picture = None, Picture("", "", 0, 0, f"{error}")
                else:
                    readings.append(reading)
                    keep_looks(reading, task.folder, number)
                    picture = write_picture(photo.pixels, task.folder, number)
            pictures.append(picture)
            if photo is not None:
                photos.append(photo)
        if stills:
            settings = pipeline.Settings(market=task.market, patience=PATIENCE)
            readings.append(pipeline.read(stills, settings, progress))
    except ReaderError as error:
        return Outcome(None, tuple(pictures), error=error.message, remedy=error.remedy)
    if not readings:
        return Outcome(None, tuple(pictures), error="no photo could be opened")
    progress("drawing", 0.95)
    names = tuple(photo.name for photo in photos)
    reading = joined(readings, names, task.part, task.market)
    return outcome_of(reading, photos, pictures, task.folder)


def outcome_of(
    reading: Reading, photos: list[Photo], pictures: list[Picture], folder: Path
) -> Outcome:
    """What comes back of a reading: its strips drawn into the folder, no arrays."""
    from reader import report
    from reader.catalogue.intake.findings import findings_of
    from reader.mounted import mounted
    from reader.web.strips import draw_lines

    lines = tuple(draw_lines(reading, photos, folder))
    document = dict(report.reading_to_dict(reading))
    wheel = mounted(reading)  # here, as it needs the places where the markings stand
    return Outcome(
        slim(reading), tuple(pictures), lines, document, findings_of(reading),
        wheel=wheel.sentences, wheel_seen=wheel.fit is not None,
    )  # fmt: skip


def warm_up() -> None:
    """Load the engines by reading a picture of nothing, before the first photo comes."""
    from reader import pipeline

    pixels = np.full((240, 320, 3), 90, np.uint8)
    with contextlib.suppress(Exception):  # whatever is wrong is told with the first photo
        pipeline.read([Photo("nothing", pixels)])


def open_all(task: Task, progress: Progress) -> tuple[list[Photo], list[Picture]]:
    """Load every source, write it down clean, and say which ones failed."""
    photos: list[Photo] = []
    pictures: list[Picture] = []
    for number, source in enumerate(task.sources, start=1):
        progress("opening", (number - 1) / len(task.sources))
        photo, picture = open_one(source, task, number)
        pictures.append(picture)
        if photo is not None:
            photos.append(photo)
    return photos, pictures


def open_one(source: Source, task: Task, number: int) -> tuple[Photo | None, Picture]:
    """Load one photo and write it down clean; no photo, and the reason, where that fails."""
    from reader.photo.load import load

    try:
        photo = turned(load(source.path.read_bytes(), f"photo {number}"), source)
    except ReaderError as error:
        return None, Picture("", "", 0, 0, f"{error}")
    return replace(photo, part=task.part), write_picture(photo.pixels, task.folder, number)


def turned(photo: Photo, source: Source) -> Photo:
    """The photo after the visitor's quarter turns, with the box in pixels."""
    pixels = np.ascontiguousarray(np.rot90(photo.pixels, k=-source.turn % 4))
    box = None
    if source.box is not None:
        high, wide = pixels.shape[:2]
        x, y, width, height = source.box
        box = (
            int(x * wide),
            int(y * high),
            max(1, int(width * wide)),
            max(1, int(height * high)),
        )
    return replace(photo, pixels=pixels, box=box)


def write_picture(pixels: Pixels, folder: Path, number: int) -> Picture:
    """Encode anew: pixels only, so that no place, time or device name is kept."""
    import cv2

    high, wide = pixels.shape[:2]
    full, view = f"{number}.jpg", f"{number}-view.jpg"
    bgr = cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR)
    write_bytes(folder / full, ".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, 93])
    scale = min(1.0, VIEW_SIDE / max(high, wide))
    size = (max(1, round(wide * scale)), max(1, round(high * scale)))
    small = cv2.resize(bgr, size, interpolation=cv2.INTER_AREA) if scale < 1 else bgr
    write_bytes(folder / view, ".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, 82])
    thumb = f"{number}-thumb.webp"
    square = cv2.resize(middle(small), (THUMB_SIDE, THUMB_SIDE), interpolation=cv2.INTER_AREA)
    write_bytes(folder / thumb, ".webp", square, [cv2.IMWRITE_WEBP_QUALITY, 55])
    return Picture(full, view, wide, high, thumb=thumb)


def middle(pixels: Any) -> Any:
    """The largest square in the middle."""
    high, wide = pixels.shape[:2]
    side = min(high, wide)
    top, left = (high - side) // 2, (wide - side) // 2
    return pixels[top : top + side, left : left + side]


def write_bytes(path: Path, kind: str, pixels: Any, options: list[int]) -> None:
    """Write one encoded picture."""
    import cv2

    path.write_bytes(cv2.imencode(kind, pixels, options)[1].tobytes())


def slim(reading: Reading) -> Reading:
    """The reading without arrays: what may travel between processes and be kept."""
    bare = tuple(replace(m, numbers=dict(m.numbers), hypothesis=None) for m in reading.markings)
    return replace(reading, markings=bare, regions=())
