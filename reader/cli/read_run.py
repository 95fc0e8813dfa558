"""What `tyremark read` does, once its options are known."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, get_args

from rich.console import Console

from reader import pipeline
from reader.cascade import PATIENCE, Progress
from reader.cli.card import WIDE, best_verdict, card, table
from reader.cli.ending import told
from reader.cli.on_wheel import tell_of_wheel
from reader.cli.progress import Steps
from reader.cli.read_json import added, document
from reader.cli.screen import print_json
from reader.errors import ExitCode, InputError, PhotoError
from reader.language import N_
from reader.ocr.stamp import assure_own
from reader.photo.files import is_folder
from reader.photo.formats import CLIP_SUFFIXES, SUFFIXES
from reader.records import PartKind, Photo, Reading, Verdict

if TYPE_CHECKING:
    from reader.sweep.read import Source

Box = tuple[int, int, int, int]
Problem = tuple[str, PhotoError]  # the file as given, and what is wrong with it


@dataclass(frozen=True)
class Wishes:
    """The options of the command, as typed."""

    paths: tuple[Path, ...]
    together: bool = False
    part: str = "unknown"
    box: str = ""
    market: str = "world"
    engines: tuple[str, ...] = ()
    patience: float = PATIENCE
    json: bool = False
    why: bool = False
    everything: bool = False
    mounted: bool = False
    overlay: Path | None = None
    stages: Path | None = None


def run(wishes: Wishes) -> ExitCode:
    """Read, print as soon as each answer is there, and say how it went.

    Raises:
        InputError: an option makes no sense.
        EngineError: no engine can read, or a model or table of ours is missing or damaged.
    """
    files = photo_files(wishes.paths)
    box = parse_box(wishes.box, len(files))
    part = parse_part(wishes.part)
    settings = settings_of(wishes)
    assure_own(settings.engines)
    groups = [files] if wishes.together else [[file] for file in files]
    names = dict(zip(files, distinct_stems(files), strict=True))
    answers: list[Reading] = []
    problems: list[Problem] = []
    out = Console(highlight=False)
    with Steps(len(groups)) as steps:
        try:
            for number, group in enumerate(groups):
                photos = load(group, part, box, problems)
                if not photos:
                    continue
                here = settings
                if settings.stages is not None and len(groups) > 1:
                    here = replace(settings, stages=settings.stages / names[group[0]])
                answer = read_part(photos, here, steps.part(number, photos[0].name), problems)
                if answer is None:
                    continue
                answers.append(answer)
                if wishes.overlay is not None:
                    draw(photos, answers[-1], wishes.overlay, names)
                if not wishes.json and wants_card(answers[-1], wishes, len(groups)):
                    out.print(card(answers[-1], wishes.why, wishes.everything), width=WIDE)
                if wishes.mounted and not wishes.json:
                    tell_of_wheel(answers[-1], wishes.market)
        finally:  # also when stopped half-way: what has been read is not lost
            if wishes.json:
                shown = document(answers, problems, wishes.everything)
                print_json(added(shown, answers, wishes), indent=None)
            elif answers and len(groups) > 1:
                out.print(table(answers, [file for file, _ in problems]))
    return status(answers, problems)


def wants_card(answer: Reading, wishes: Wishes, parts: int) -> bool:
    """Whether to print a card: of several parts only those whose diameter is not sure."""
    asked = wishes.everything or wishes.why or parts == 1
    return asked or best_verdict(answer) is not Verdict.SURE


def photo_files(paths: Sequence[Path]) -> list[Path]:
    """The files to read: those named, and the pictures of each folder in order of name.

    Raises:
        InputError: a folder has no picture in it.
    """
    files: list[Path] = []
    for path in paths:
        if not is_folder(path) or not os.access(path, os.R_OK | os.X_OK):
            files.append(path)  # opening it tells what is wrong, and the others are read
            continue
        wanted = SUFFIXES | CLIP_SUFFIXES
        inside = sorted(item for item in path.iterdir() if item.suffix.lower() in wanted)
        if not inside and len(paths) > 1:
            files.append(path)  # named as a folder when its turn comes
        elif not inside:
            raise InputError(
                f"the folder {path} has no photos in it",
                f"name one with {', '.join(sorted(SUFFIXES))} files",
            )
        files += inside
    return files


def parse_box(text: str, photos: int) -> Box | None:
    """The box from 'left,top,width,height'.

    >>> parse_box("10, 20,300,40", 1)
    (10, 20, 300, 40)

    Raises:
        InputError: not four whole numbers, an empty box, or more than one photo.
    """
    if not text:
        return None
    remedy = N_("write left,top,width,height in pixels, such as --box 820,1400,600,120")
    try:
        left, top, width, height = (int(number) for number in text.split(","))
    except ValueError as error:
        raise InputError(f"'{text}' is no box", remedy) from error
    if min(left, top) < 0 or min(width, height) < 1:
        raise InputError(f"the box '{text}' is empty or begins outside the photo", remedy)
    if photos != 1:
        raise InputError("a box belongs to one photo", "give one photo with --box")
    return left, top, width, height


def parse_part(text: str) -> PartKind:
    """The kind of part.

    Raises:
        InputError: none of the kinds there are.
    """
    kinds: tuple[PartKind, ...] = get_args(PartKind)
    for kind in kinds:
        if kind == text.lower():
            return kind
    raise InputError(f"there is no part '{text}'", f"choose from: {', '.join(kinds)}")


def settings_of(wishes: Wishes) -> pipeline.Settings:
    """The pipeline's settings for these wishes.

    Raises:
        InputError: the patience is no time.
    """
    if not wishes.patience > 0:
        raise InputError(f"--patience {wishes.patience:g} is no time", "give seconds above 0")
    settings = pipeline.Settings(
        market=wishes.market, stages=wishes.stages, patience=wishes.patience
    )
    return replace(settings, engines=wishes.engines) if wishes.engines else settings


def distinct_stems(files: Sequence[Path]) -> list[str]:
    """A name for each file's output, without suffix; like names get a number.

    >>> distinct_stems([Path("a/1.jpg"), Path("b/1.jpg"), Path("2.png")])
    ['1', '1-2', '2']
    """
    out: list[str] = []
    for file in files:
        tries = (file.stem if n == 1 else f"{file.stem}-{n}" for n in range(1, len(files) + 2))
        out.append(next(name for name in tries if name not in out))
    return out


def load(
    files: Sequence[Path], part: PartKind, box: Box | None, problems: list[Problem]
) -> list[Source]:
    """The photos that can be opened, and clips; the others are named on stderr and in `problems`.

    Raises:
        InputError: the box lies outside the photo, or there is a clip.
    """
    from reader.photo.load import load as load_photo
    from reader.sweep import Clip, is_clip

    photos: list[Source] = []
    for file in files:
        try:
            if is_clip(file):
                if box is not None:
                    raise InputError(
                        N_(f"{file} is a clip, in which all moves"), N_("leave out --box")
                    )
                photos.append(Clip(file, str(file), part))
            else:
                photos.append(load_photo(file, str(file), part, box))
        except PhotoError as error:
            _complain(str(file), error, problems)
    return photos


def _complain(file: str, error: PhotoError, problems: list[Problem]) -> None:
    problems.append((file, error))
    print(f"tyremark: {told(error)}", file=sys.stderr)


def read_part(
    sources: Sequence[Source],
    settings: pipeline.Settings,
    progress: Progress,
    problems: list[Problem],
) -> Reading | None:
    """The answer of one part's photos and clips; clips that can't be decoded are `problems`.

    Raises:
        EngineError: no engine can read.
    """
    from reader.sweep import Clip, read_sources

    answer = None
    with suppress(PhotoError):
        answer = read_sources(sources, settings, progress)
    for source in sources:
        if isinstance(source, Clip) and source.error is not None:
            _complain(source.name, source.error, problems)
    return answer


def draw(
    photos: Sequence[Source], reading: Reading, folder: Path, names: Mapping[Path, str]
) -> None:
    """Write each photo with the places that were read drawn in, as FOLDER/NAME.read.jpg.

    Raises:
        InputError: the folder can't be written.
    """
    from PIL import Image

    from reader.photo.overlay import overlay

    try:
        folder.mkdir(parents=True, exist_ok=True)
        for photo in shown_of(photos, reading):
            picture = Image.fromarray(overlay(photo, reading))
            picture.save(folder / f"{names[Path(photo.name)]}.read.jpg", quality=90)
    except OSError as error:
        raise InputError(f"can't write to {folder} ({error})", "choose another folder") from error


def shown_of(sources: Sequence[Source], reading: Reading) -> list[Photo]:
    """The photos of a part; of a sweep the picture that it was put together to."""
    from reader.selection import photo_of

    photos = [source for source in sources if isinstance(source, Photo)]
    seen = dict.fromkeys(photo_of(marking) for marking in reading.markings)
    laid = [photo for photo in seen if photo is not None and photo not in photos]
    return laid or photos


def status(answers: Sequence[Reading], problems: Sequence[Problem]) -> ExitCode:
    """A bad photo weighs more than a size not told; one diameter told is enough for success."""
    if problems:
        return ExitCode.BAD_PHOTO
    told = any(best_verdict(answer) in (Verdict.SURE, Verdict.LIKELY) for answer in answers)
    return ExitCode.OK if told else ExitCode.NOTHING_READ
