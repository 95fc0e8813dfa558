"""Real photographs with truth told by a person: what is told of each.

    python -m reader.train.bench.real FOLDER

FOLDER holds photographs and index.csv with the columns `file`, `part` ('tyre', 'rim', 'tube',
'no size', 'car tyre'), `size_text`, `iso_size`, `bsd`, `difficulty` (1 to 5). It writes real.md
beside this file. Nothing was trained on them; but they were looked at, so the figures flatter.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from reader.errors import InputError
from reader.pipeline import read_files
from reader.records import Reading

CARD = Path(__file__).with_suffix(".md")
LEGIBLE = 3  # difficulty up to which a person reads it without effort


@dataclass(frozen=True)
class Result:
    """One photograph: its row, what was told, and whether that is right; None: rightly nothing."""

    row: Mapping[str, str]
    told: str
    right: bool | None

    @property
    def word(self) -> str:
        """The last cell of its row."""
        if self.right is None:
            return ""
        return "right" if self.right else "missed" if self.told == "-" else "WRONG"


def judge(row: Mapping[str, str], reading: Reading) -> Result:
    """Compare an answer with its row."""
    if reading.kind.value == "other" and reading.kind.told:
        return Result(row, "no bicycle's", row["part"] == "car tyre")
    if not reading.diameter.told:
        nothing = not row["bsd"] and row["part"] != "car tyre"
        return Result(row, "-", None if nothing else False)
    told = f"{reading.told_size} {reading.diameter.verdict}"
    right = row["bsd"] == str(reading.diameter.value)
    if right and row["iso_size"] and reading.width.told and not reading.width.nominal:
        right = reading.told_size == row["iso_size"]
    return Result(row, told, right)


def table(results: Sequence[Result]) -> str:
    """The report."""
    sized = [one for one in results if one.row["bsd"] and int(one.row["difficulty"]) <= LEGIBLE]
    pairs = [one for one in sized if one.row["iso_size"]]
    names = [one for one in sized if not one.row["iso_size"]]
    cars = [one for one in results if one.row["part"] == "car tyre"]
    told = [one for one in results if one.told != "-"]
    wrong = [one for one in told if not one.right]

    def share(some: Sequence[Result]) -> str:
        return f"{sum(bool(one.right) for one in some)} of {len(some)}"

    shown = [one for one in results if one.row["size_text"] or one.told != "-"]
    others = [one for one in results if not one.row["bsd"] and one.row["part"] != "car tyre"]
    told_there = sum(one.told != "-" for one in others)
    rows = "\n".join(
        f"| {one.row['file']} | {one.row['part']} | {one.row['size_text'].replace('|', '/')} | "
        f"{one.row['difficulty']} | {one.told} | {one.word} |"
        for one in shown
    )
    return f"""# Real photographs
`python -m reader.train.bench.real` on {len(results)} photographs with free licences. Nothing
was trained on them; they were looked at while the resolver was mended, so these figures flatter.

| what | told right |
|---|---|
| ISO pairs, legible | {share(pairs)} |
| names alone, legible (diameter) | {share(names)} |
| motor cars' tyres, named as such | {share(cars)} |
| no diameter to be read: something told | {told_there} of {len(others)} |
| told wrong | {len(wrong)} of {len(results)} |

Those that show some text of a size, or of which something was told:

| photograph | part | text | difficulty | told | |
|---|---|---|---|---|---|
{rows}
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Read all, compare, write."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.real", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, default=CARD)
    chosen = parser.parse_args(arguments)
    try:
        with (chosen.folder / "index.csv").open(encoding="utf-8", newline="") as stream:
            index = list(csv.DictReader(stream))
    except OSError as error:
        raise InputError(f"can't open {chosen.folder}/index.csv", "name the folder") from error
    results = [judge(row, read_files([chosen.folder / row["file"]])) for row in index]
    chosen.out.write_text(table(results), encoding="utf-8")
    print(f"wrote {chosen.out}")


if __name__ == "__main__":
    main()
