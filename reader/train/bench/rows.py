"""What the benchmark keeps of every photograph: a row of accuracy.csv, written as soon as known."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path

from reader.errors import InputError
from reader.records import Reading, Verdict
from reader.train.bench.sets import EMPTY

OURS = "this tool"
ENGINES = (
    OURS, "tesseract plainly", "scene engine plainly", "tesseract located", "scene engine located"
)  # fmt: skip
TOLD = (str(Verdict.SURE), str(Verdict.LIKELY))


@dataclass(frozen=True)
class Answer:
    """What one engine says of a part; `size` is '' where it names none."""

    size: str
    verdict: str
    probability: float
    seconds: float

    @classmethod
    def of(cls, reading: Reading, seconds: float) -> Answer:
        """The answer in a reading."""
        best = reading.best
        size = str(best.size) if best else ""
        return cls(size, str(reading.verdict), best.probability if best else 0.0, seconds)

    @property
    def told(self) -> bool:
        """Whether it names a size as sure or likely."""
        return bool(self.size) and self.verdict in TOLD


@dataclass(frozen=True)
class Row:
    """One part of one kind with the answers of the engines that read it."""

    kind: str
    number: int
    seed: int
    photos: int
    part: str
    text: str
    truth: str  # '47-507', 'one|another' where the text leaves it open, '' without a size
    clarity: float
    cap: float
    font: str  # file name of the size line's letters
    answers: dict[str, Answer] = field(default_factory=dict)

    def right(self, engine: str) -> bool:
        """Whether the size that it names, told or not, is what the text means.

        A truth without a width ('?-622') is met by its diameter with any width.
        """
        size = self.answers[engine].size
        whole = self.truth.split("|")
        return bool(size) and (size in whole or f"?-{size.split('-')[1]}" in whole)

    def diameter(self, engine: str) -> bool:
        """Whether a size was told whose bead seat diameter, at least, is right."""
        bsds = {one.split("-")[1] for one in self.truth.split("|") if one}
        answer = self.answers[engine]
        return answer.told and answer.size.split("-")[1] in bsds

    def outcome(self, engine: str) -> str:
        """One of 'right', 'wrong, sure', 'wrong, told', "can't tell"."""
        answer = self.answers[engine]
        if not answer.told:
            return "can't tell"
        if self.kind not in EMPTY and self.right(engine):
            return "right"
        return "wrong, sure" if answer.verdict == Verdict.SURE else "wrong, told"


KNOWN = [one.name for one in fields(Row) if one.name != "answers"]
ASKED = [one.name for one in fields(Answer)]
COLUMNS = [*KNOWN, *(f"{engine}: {name}" for engine in ENGINES for name in ASKED)]


def append(path: Path, rows: Iterable[Row]) -> None:
    """Add rows to a CSV, with its heading if it is new."""
    new = not path.exists() or not path.stat().st_size
    with path.open("a", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS, restval="", lineterminator="\n")
        if new:
            writer.writeheader()
        for row in rows:
            cells: dict[str, object] = {name: _cell(getattr(row, name)) for name in KNOWN}
            for engine, answer in row.answers.items():
                said = asdict(answer)
                cells |= {f"{engine}: {name}": _cell(said[name]) for name in ASKED}
            writer.writerow(cells)


def load(path: Path) -> list[Row]:
    """Rows of a CSV; none if there is no such file. A row cut short by a kill is left out.

    Raises:
        InputError: the file is no table of the benchmark's.
    """
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream)
        if list(reader.fieldnames or ()) != COLUMNS:
            raise InputError(f"{path} is not a table of this benchmark", "give another folder")
        return [_row(cells) for cells in reader if cells[COLUMNS[-1]] is not None]


def _row(cells: dict[str, str]) -> Row:
    answers = {}
    for engine in ENGINES:
        size, verdict, probability, seconds = (cells[f"{engine}: {name}"] for name in ASKED)
        if verdict:
            answers[engine] = Answer(size, verdict, float(probability), float(seconds))
    return Row(
        cells["kind"], int(cells["number"]), int(cells["seed"]), int(cells["photos"]),
        cells["part"], cells["text"], cells["truth"], float(cells["clarity"]),
        float(cells["cap"]), cells["font"], answers,
    )  # fmt: skip


def _cell(value: object) -> object:
    return round(value, 4) if isinstance(value, float) else value
