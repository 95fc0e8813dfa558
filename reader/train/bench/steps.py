"""What each step of the cascade settles: photographs told by it that no step before it told.

    python -m reader.train.bench.steps --carry carry --count 20 --state carry/steps.jsonl
    python -m reader.train.bench.steps PHOTO ... --state carry/steps.jsonl

The first draws so many photographs of each kind (seeds from 3,500,000, held-out letters and
grounds), the second takes files; both go on where they stopped, and write steps.md beside this
file from all that is kept. The time is the processor's, as seconds of two quiet cores.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from reader.cascade import STEPS, read_photo
from reader.ocr import ENGINES
from reader.records import Photo, Reading, Verdict
from reader.resolve.resolve import resolve
from reader.tables import load_tables
from reader.train.bench.markdown import markdown
from reader.work import Work

CARD = Path(__file__).with_suffix(".md")
SEED = 3_500_000
SEEDS_A_KIND = 10_000
KINDS = ("worn", "dirty", "glare", "moulded", "stamped", "engraved", "decal", "tiny", "printed")
TOLD = (Verdict.SURE, Verdict.LIKELY)


@dataclass
class Row:
    """One photograph: after each step taken, its name, what is told ('' if nothing), seconds."""

    name: str
    truth: str  # sizes it may be told as, 'bsd-width|…'; '?' where nobody said
    steps: list[tuple[str, str, float]] = field(default_factory=list)


def look(photo: Photo, truth: str) -> Row:
    """Read one photo without a clock, and note what is told after every step."""
    work = Work(tuple(kind.name for kind in ENGINES), "world")
    row = Row(photo.name, truth)
    names: list[str] = []
    began = work.tools.seconds()

    def note() -> None:
        nonlocal began
        if names:
            spent = work.tools.seconds() - began
            reading = resolve(work.markings, photo.part, load_tables())
            row.steps.append((names[-1], told(reading), round(spent, 3)))
        began = work.tools.seconds()

    def tell(name: str, share: float) -> None:
        note()
        names.append(name)

    read_photo(photo, work, tell, patience=float("inf"))
    note()
    return row


def told(reading: Reading) -> str:
    """The size, '?-622' where only the diameter is told, 'other' for no bicycle's part, or ''."""
    if reading.kind.value == "other" and reading.kind.told:
        return "other"
    if reading.best is not None and reading.verdict in TOLD:
        return str(reading.best.size)
    return f"?-{reading.diameter.value}" if reading.diameter.told else ""


def is_wrong(row: Row, size: str) -> bool:
    """Whether a told size is not the truth, as far as somebody said what that is."""
    sizes = row.truth.split("|")
    seats = [one.rpartition("-")[2] for one in sizes]
    right = size[2:] in seats if size.startswith("?") else size in sizes
    return row.truth != "?" and not right


STUDIO: list[Any] = []  # one in each process


def sit_down(carry: Path) -> None:
    """Set a worker process up."""
    from reader.train.render.batch import one_core
    from reader.train.render.samples import Studio

    one_core()
    STUDIO[:] = [Studio.open(carry, "cpu")]


def draw(kind: str, number: int) -> Row:
    """Draw one photograph whose size line settles its size, and read it."""
    from reader.train.bench.sets import spelled
    from reader.train.render.kinds import RECIPES
    from reader.train.render.texts import draw_line
    from reader.train.render.truth import settles

    seed = SEED + SEEDS_A_KIND * KINDS.index(kind) + number
    recipe = RECIPES[kind]
    rng, rim = np.random.default_rng((seed, 78)), recipe.part == "rim"
    text, truth = "", frozenset[tuple[int, float]]()
    while not truth:
        text, _ = draw_line(rng, "rim_size" if rim else "tyre_size", held_out=True)
        truth = settles(text, rim)
    shot = STUDIO[0].shoot(recipe, seed, text, seed)
    return look(Photo(f"{kind} {number}", shot.pixels), spelled(truth))


def drawn(wishes: argparse.Namespace, had: set[str]) -> Iterator[Row]:
    """Photographs that are not kept yet, drawn and read by so many processes."""
    left = [
        (kind, number)
        for number in range(wishes.count)
        for kind in wishes.kinds
        if f"{kind} {number}" not in had
    ]
    setting = get_context("spawn")
    with setting.Pool(wishes.jobs, sit_down, (wishes.carry,)) as pool:
        yield from pool.imap_unordered(_draw, left)


def _draw(what: tuple[str, int]) -> Row:
    return draw(*what)


def filed(paths: Sequence[Path], had: set[str]) -> Iterator[Row]:
    """Read files that are not kept yet."""
    from reader.photo.load import load

    for path in paths:
        if str(path) not in had:
            yield look(load(path, str(path)), "?")


def report(rows: Sequence[Row]) -> str:
    """One line a step: how many photos came to it, what it told first, what it cost."""
    table = [
        ["step", "photos", "size told first", "wrong", "diameter told first", "wrong", "seconds"]
    ]
    for step in STEPS:
        came = [(row, k) for row in rows for k, one in enumerate(row.steps) if one[0] == step.name]
        cells = [step.name, str(len(came))]
        for is_open in (False, True):
            first = [(row, row.steps[k][1]) for row, k in came if _is_first(row, k, is_open)]
            cells += [str(len(first)), str(sum(is_wrong(row, size) for row, size in first))]
        spent = [row.steps[k][2] for row, k in came]
        table.append([*cells, f"{sum(spent) / len(spent):.2f}" if spent else ""])
    lines = markdown(table)
    unknown = sum(row.truth == "?" for row in rows)
    return f"""# What each step settles
`python -m reader.train.bench.steps`: {len(rows)} photographs ({len(rows) - unknown} drawn, whose
truth is known, and {unknown} others). The clock was not set; seconds are processor time, as of two
quiet cores, a photo that came to the step.

{lines}
"""


def _is_first(row: Row, k: int, is_open: bool) -> bool:
    """Whether step k tells a size (with `is_open` only a diameter), and none before it did."""
    before = [size for _, size, _ in row.steps[:k]]
    size = row.steps[k][1]
    if is_open:
        return size.startswith("?") and not any(before)
    return (
        bool(size)
        and not size.startswith("?")
        and not any(one and not one.startswith("?") for one in before)
    )


def read_state(path: Path) -> list[Row]:
    """What is kept."""
    if not path.exists():
        return []
    rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
    return [Row(row["name"], row["truth"], [tuple(one) for one in row["steps"]]) for row in rows]


def main() -> None:
    """Read what is not kept yet, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("photos", nargs="*", type=Path)
    parser.add_argument("--carry", type=Path, default=Path("carry"))
    parser.add_argument("--count", type=int, default=20, help="photographs of each kind")
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=KINDS)
    parser.add_argument("--jobs", type=int, default=1, help="processes that draw and read")
    parser.add_argument("--state", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so long")
    wishes = parser.parse_args()
    had = {row.name for row in read_state(wishes.state)}
    until = time.monotonic() + wishes.seconds
    more = filed(wishes.photos, had) if wishes.photos else None
    for row in more or drawn(wishes, had):
        with wishes.state.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row.__dict__) + "\n")
        print(row.name, row.truth, *(f"{size or '-'}" for _, size, _ in row.steps), flush=True)
        if time.monotonic() > until:
            break
    CARD.write_text(report(read_state(wishes.state)), encoding="utf-8")


if __name__ == "__main__":
    main()
