"""A whole bin in one go: find, group, read on all cores, write part by part."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy as sa

from reader.catalogue.db import schema
from reader.catalogue.db.records import Arrival, Failure, Place
from reader.catalogue.db.store import Catalogue
from reader.catalogue.intake.files import SeenFile, find_files, look_at
from reader.catalogue.intake.group import GAP_SECONDS, MOST_PHOTOS, By, Group, LeftOut, group
from reader.catalogue.intake.insert import record
from reader.catalogue.intake.jobs import Job, Outcome
from reader.catalogue.intake.plan import Plan, make_plan
from reader.catalogue.intake.workers import Crew
from reader.language import N_
from reader.records import PartKind


@dataclass(frozen=True)
class Choices:
    """What a user may choose for an intake."""

    by: By = "folder"
    gap: float = GAP_SECONDS  # seconds
    most: int = MOST_PHOTOS  # photos of one part
    kind: PartKind = "unknown"
    bin: str = ""  # '' takes the folder's name
    shelf: str = ""
    condition: str = ""
    depot: str = ""
    again: bool = False  # read what was read before once more
    retry: bool = False  # try photos again that failed before
    trust: bool = True  # size and time prove that a file did not change
    working: tuple[str, ...] = ()  # engines; what was read without one of them is read again


@dataclass
class Tally:
    """How an intake stands."""

    step: str = "looking"  # looking, reading, done
    photos: int = 0  # to be handled in this step
    photos_done: int = 0
    parts: int = 0  # written in this run
    parts_known: int = 0  # found in the catalogue already
    verdicts: Counter[str] = field(default_factory=Counter)
    failed: list[LeftOut] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    same: list[LeftOut] = field(default_factory=list)  # photos whose content was there already
    split: list[LeftOut] = field(default_factory=list)  # folders that may hold two parts
    foreign: list[LeftOut] = field(default_factory=list)  # no parts of a bicycle
    put_off: list[LeftOut] = field(default_factory=list)  # the same command tries them again


Report = Callable[[Tally], None]


def take_in(
    catalogue: Catalogue,
    folders: Sequence[Path],
    crew: Callable[[], Crew],
    choices: Choices | None = None,
    report: Report | None = None,
) -> Tally:
    """Read all photos under the folders into the catalogue.

    Stop it at any moment, in any way: what is written is whole, and the next call goes on from
    there. The result does not depend on the order or the number of workers.

    Args:
        catalogue: where to.
        folders: with the photos.
        crew: makes who reads; called only if there is something to read.
        choices: how.
        report: called after each step.

    Raises:
        InputError: a folder is not there.
        CatalogueError: the catalogue can't be written; what was written is whole.
        EngineError: no engine works.
        ServerError: the cluster is gone.
    """
    choices = choices or Choices()
    tally = Tally()
    tell = report or (lambda _: None)
    files = _look(catalogue, folders, choices, tally, tell)
    groups, tally.left_out = group(files, choices.by, choices.gap, choices.most)
    plan = make_plan(catalogue, groups, choices.again, choices.retry, choices.working)
    tally.same, tally.parts_known = plan.same, plan.known
    tally.step, tally.photos_done = "reading", 0
    tally.photos = sum(len(item.files) for item in plan.groups)
    tell(tally)
    if plan.groups:
        _read_all(catalogue, plan, crew, choices, tally, tell)
    tally.failed = failed_photos(catalogue, folders)
    tally.step = "done"
    tell(tally)
    return tally


def _look(
    catalogue: Catalogue, folders: Sequence[Path], choices: Choices, tally: Tally, tell: Report
) -> list[SeenFile]:
    files = find_files(folders)
    tally.photos = len(files)

    def progress(done: int) -> None:
        tally.photos_done = done
        tell(tally)

    return look_at(catalogue, files, choices.by == "code", choices.trust, progress)


def _read_all(
    catalogue: Catalogue,
    plan: Plan,
    make_crew: Callable[[], Crew],
    choices: Choices,
    tally: Tally,
    tell: Report,
) -> None:
    anew = choices.again or choices.retry
    by_source = {item.source: item for item in plan.groups}

    def write_finished() -> None:
        for job, outcome in crew.finished():
            item = by_source[job.source]
            if outcome.put_off:
                tally.photos_done += len(item.files)
                tally.put_off.append(LeftOut(str(item.files[0].path.parent), outcome.put_off))
            else:
                again = anew or item.source in plan.anew
                record(catalogue, _arrival(item, outcome, choices), again)
                _count(tally, item, outcome)
            tell(tally)

    crew = make_crew()
    try:
        for item in plan.groups:
            while not crew.has_room():
                write_finished()
            crew.submit(Job(item.source, tuple(f.ref for f in item.files), choices.kind))
        while crew.busy():
            write_finished()
    except BaseException:
        crew.close(stop=True)
        raise
    crew.close()


def _arrival(item: Group, outcome: Outcome, choices: Choices) -> Arrival:
    return Arrival(
        photos=tuple(file.ref for file in item.files),
        findings=outcome.findings,
        failures=outcome.failures,
        source=item.source,
        code=item.code,
        kind=choices.kind,
        place=Place(choices.bin or item.place.bin, choices.shelf, choices.depot),
        arrived=item.day,
        said={"condition": choices.condition} if choices.condition else {},
    )


def _count(tally: Tally, item: Group, outcome: Outcome) -> None:
    tally.parts += 1
    tally.photos_done += len(item.files)
    tally.verdicts[outcome.findings.verdict if outcome.findings else N_("not readable")] += 1
    if outcome.findings is not None:
        first = str(item.files[0].path if len(item.files) == 1 else item.files[0].path.parent)
        if outcome.findings.split:
            tally.split.append(LeftOut(first, outcome.findings.split))
        if outcome.findings.foreign:
            tally.foreign.append(LeftOut(first, outcome.findings.foreign))
    for file in item.files:
        failure = outcome.failures.get(file.digest)
        if failure is not None:
            tally.failed.append(LeftOut(str(file.path), str(failure)))


def failed_photos(catalogue: Catalogue, folders: Sequence[Path] = ()) -> list[LeftOut]:
    """Photos that could not be read, now or earlier, with reason and remedy."""
    c = schema.photos.c
    query = sa.select(c.path, c.reason, c.remedy).where(c.state == "failed").order_by(c.path)
    with catalogue.read() as connection:
        rows = connection.execute(query).all()
    roots = [folder.resolve() for folder in folders]
    return [
        LeftOut(row.path, str(Failure(row.reason, row.remedy)))
        for row in rows
        if not roots or any(Path(row.path).is_relative_to(root) for root in roots)
    ]
