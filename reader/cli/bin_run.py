"""What `tyremark bin` does."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from math import inf
from pathlib import Path
from typing import cast, get_args

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)

from reader.catalogue.cells import checked
from reader.catalogue.db.store import open_catalogue
from reader.catalogue.intake.files import assure_folders
from reader.catalogue.intake.group import By, LeftOut
from reader.catalogue.intake.intake import Choices, Tally, take_in
from reader.catalogue.intake.jobs import read_job
from reader.catalogue.intake.workers import Crew, LocalCrew
from reader.cli.doubles_run import compare
from reader.cli.layout import wrapped
from reader.errors import ExitCode, InputError
from reader.language import said
from reader.ocr.stamp import wanting, working
from reader.photo.files import printable
from reader.pipeline import Settings, assure_settings
from reader.records import PartKind

LISTED = 20  # lines of each list on the screen
READ = read_job


@dataclass(frozen=True)
class Wishes:
    """What the user asked for."""

    folders: tuple[Path, ...]
    catalogue: str
    by: str
    gap: float
    most: int
    part: str
    bin: str
    shelf: str
    condition: str
    depot: str
    workers: int | None
    cluster: str
    shared: bool
    market: str
    again: bool
    retry: bool
    check_content: bool


def run(wishes: Wishes) -> ExitCode:
    """Take the folders in, show how it goes, and sum it up."""
    settings = Settings(market=wishes.market)
    choices = _choices(wishes)
    assure_folders(wishes.folders)  # before a catalogue is made
    assure_settings(settings)
    choices = replace(choices, working=working(settings.engines))
    for name in wanting(settings.engines):
        text = said(
            f"The engine {name} is missing (see: tyremark engines). What is read without it is "
            "read again by the same command once it is back."
        )
        print(*wrapped(text, indent=""), sep="\n")
    make_crew = _crew(wishes, settings)
    catalogue = open_catalogue(wishes.catalogue, whole=True)
    console = Console(stderr=True)
    last = Tally()

    def keep(tally: Tally) -> None:
        nonlocal last
        last = tally
        show(tally)

    try:
        with _bar(console) as bar:
            show = _shower(bar)
            take_in(catalogue, wishes.folders, make_crew, choices, keep)
        alike = compare(catalogue) if last.parts else 0
    except KeyboardInterrupt:
        text = said(
            f"Stopped. {last.parts} parts were read in this run and are kept; the same command "
            "goes on from there."
        )
        print(text, file=sys.stderr)
        return ExitCode.STOPPED
    finally:
        catalogue.close()
    _sum_up(last)
    if alike:
        print(
            said(f"Pairs that may be one part photographed twice: {alike}; look: tyremark doubles")
        )
    return ExitCode.BAD_PHOTO if last.failed or _troubled(last) else ExitCode.OK


def _troubled(tally: Tally) -> bool:
    return bool(tally.left_out or tally.put_off)


def _choices(wishes: Wishes) -> Choices:
    for value, allowed, option in (
        (wishes.by, get_args(By), "--by"),
        (wishes.part, get_args(PartKind), "--part"),
    ):
        if value not in allowed:
            raise InputError(f"{option} {value!r}", f"use one of: {', '.join(allowed)}")
    workers = 1 if wishes.workers is None else wishes.workers
    if not 0 < wishes.gap < inf or wishes.most < 1 or workers < 1:
        raise InputError("--gap, --most and --workers must be above 0", "give a positive number")
    return Choices(
        by=cast(By, wishes.by),
        gap=wishes.gap,
        most=wishes.most,
        kind=cast(PartKind, wishes.part),
        bin=wishes.bin,
        shelf=wishes.shelf,
        condition=checked({"condition": wishes.condition})["condition"],
        depot=wishes.depot,
        again=wishes.again,
        retry=wishes.retry,
        trust=not wishes.check_content,
    )


def _crew(wishes: Wishes, settings: Settings) -> Callable[[], Crew]:
    read = READ if settings == Settings() else partial(READ, settings=settings)
    if wishes.cluster:
        from reader.catalogue.intake.cluster import ClusterCrew

        shared = wishes.folders if wishes.shared else ()
        return lambda: ClusterCrew(read, wishes.cluster, settings.engines, shared)
    return lambda: LocalCrew(read, wishes.workers)


def _bar(console: Console) -> Progress:
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn(said("left")),
        TimeRemainingColumn(),
        TextColumn("{task.fields[counts]}"),
        console=console,
        disable=not console.is_terminal,
    )


def _shower(bar: Progress) -> Callable[[Tally], None]:
    tasks = {}

    def show(tally: Tally) -> None:
        if tally.step == "done":
            return
        if tally.step not in tasks:
            tasks[tally.step] = bar.add_task("", counts="")
            bar.update(tasks[tally.step], description=f"{said(tally.step):8} {said('photos')}")
        bar.update(
            tasks[tally.step],
            total=tally.photos,
            completed=tally.photos_done,
            counts=_counts(tally) if tally.step == "reading" else "",
        )

    return show


def _counts(tally: Tally) -> str:
    found = [f"{count} {said(verdict)}" for verdict, count in sorted(tally.verdicts.items())]
    if tally.failed:
        found.append(said(f"{len(tally.failed)} failed"))
    return ", ".join(found)


def _sum_up(tally: Tally) -> None:
    print(said(f"{tally.parts} parts read, {tally.parts_known} known from before."))
    if tally.verdicts:
        each = (f"{n} {said(verdict)}" for verdict, n in sorted(tally.verdicts.items()))
        print("  " + ", ".join(each))
    _list(said("Photos could not be read"), tally.failed, "tyremark failures")
    _list(said("Photos left out"), tally.left_out)
    _list(said("Photos put off; the same command tries them again"), tally.put_off)
    _list(said("Photos there twice"), tally.same)
    _list(said("Photos of no bicycle part: kept as foreign, not counted"), tally.foreign)
    _list(said("Photos that may show two parts: give each a folder of its own"), tally.split)
    if tally.parts:
        print(said("Next: tyremark review, tyremark tally, tyremark labels labels.pdf"))


def _list(title: str, items: list[LeftOut], command: str = "") -> None:
    if items:
        print(f"{title}: {len(items)}")
    for item in items[:LISTED]:
        print(f"  {printable(item.path)}: {said(item.reason)}")
    if len(items) > LISTED:
        where = said(f"; all of them: {command}") if command else ""
        print(said(f"  … and {len(items) - LISTED} more") + where)
