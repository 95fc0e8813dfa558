"""Names alone: how many diameters are told where the letters are legible.

    python -m reader.train.calibrate.collect --reported --rounds 15 --families "tyre name, close" \\
        --evidence carry/reported.bin --out carry/reported.csv
    python -m reader.train.bench.alone carry/reported.bin

weighs what was read of parts that bear a name and no pair, drawn with letters, grounds and seeds
that nothing was fitted on, nobody telling what part it is, and writes alone.md beside this file.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reader.names.suggest import UnknownSize
from reader.names.typed import parse
from reader.records import Reading
from reader.resolve.resolve import resolve
from reader.tables import Tables, load_tables
from reader.train.calibrate.collect import Kept, group, load, true_size

CARD = Path(__file__).with_suffix(".md")
AGREED = 0.9  # share of one diameter from which the tables are said to agree
LEGIBLE = 0.5  # clarity from which a person reads the letters, see render.clarity


@dataclass(frozen=True)
class Answer:
    """One part, what was told of it, its diameter, and whether the tables agree on that."""

    kept: Kept
    reading: Reading
    bsd: int | None
    agreed: bool = True

    @property
    def legible(self) -> bool:
        """Whether a person reads the letters."""
        return self.kept.facts[0].clarity >= LEGIBLE

    @property
    def right(self) -> bool:
        """Whether the diameter was told rightly."""
        return self.reading.diameter.told and self.reading.diameter.value == self.bsd

    @property
    def wrong(self) -> bool:
        """Whether a wrong diameter was told."""
        return self.reading.diameter.told and not self.right


def with_interval(hits: int, count: int) -> str:
    """A count with Wilson's 95 % interval of its share (Wilson, JASA 1927)."""
    if not count:
        return "-"
    z, share = 1.96, hits / count
    middle = (share + z * z / 2 / count) / (1 + z * z / count)
    spread = z / (1 + z * z / count) * math.sqrt(share * (1 - share) / count + (z / 2 / count) ** 2)
    low, high = max(0.0, middle - spread), min(1.0, middle + spread)
    return f"{hits} ({low * 100:.0f} to {high * 100:.0f} %)"


def answers(kept: Sequence[Kept]) -> list[Answer]:
    """What is told of each part that bears a name alone, by the shipped weights."""
    tables = load_tables()
    made = []
    for one in kept:
        if not (one.job.text and group(one).startswith("tyre name")):
            continue
        truth = true_size(one.facts[0], tables, one.job.seeds[0])
        if truth is None:
            continue
        reading = resolve(one.markings, "unknown", tables)
        made.append(Answer(one, reading, truth.bsd, agreed(one.facts[0].truth, tables)))
    return made


def agreed(text: str, tables: Tables) -> bool:
    """Whether the tables give a typed name one diameter, nearly all of their share."""
    try:
        (_, share), *_ = parse(text, tables).on("tyre").diameters
    except (UnknownSize, ValueError):
        return False
    return share >= AGREED


def _row(name: str, some: Sequence[Answer]) -> str:
    right = with_interval(sum(one.right for one in some), len(some))
    return f"| {name} | {len(some)} | {right} | {sum(one.wrong for one in some)} |"


def table(made: Sequence[Answer]) -> str:
    """The report."""
    legible = [one for one in made if one.legible]
    rows = "\n".join(
        (
            _row("legible, tables agree", [one for one in legible if one.agreed]),
            _row("legible, tables differ", [one for one in legible if not one.agreed]),
            _row("legible or not", made),
        )
    )
    each = "\n".join(
        f"| {one.kept.facts[0].truth} | {one.kept.facts[0].clarity:.2f} | {one.bsd or ''} | "
        f"{one.reading.told_size or '-'} | {'WRONG' if one.wrong else ''} |"
        for one in made
        if one.wrong or one.legible and one.agreed and not one.right
    )
    return f"""# Names alone
`python -m reader.train.bench.alone` on {len(made)} photographs of tyres that bear a name and no
pair: letters, grounds and seeds that nothing was fitted on, nobody telling the part. Legible:
clarity {LEGIBLE} and more, which anyone reads. Tables agree: {AGREED:.0%} of their share is on one
diameter; elsewhere candidates are the right answer. In brackets the 95 % interval.

| letters | parts | diameter told right | told wrong |
|---|---|---|---|
{rows}

Told wrong, and missed where legible and agreed:

| name | clarity | diameter | told | |
|---|---|---|---|---|
{each}
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Weigh and write."""
    parser = argparse.ArgumentParser(prog="python -m reader.train.bench.alone", description=__doc__)
    parser.add_argument("evidence", type=Path)
    parser.add_argument("--out", type=Path, default=CARD)
    chosen = parser.parse_args(arguments)
    chosen.out.write_text(table(answers(load(chosen.evidence))), encoding="utf-8")
    print(f"wrote {chosen.out}")


if __name__ == "__main__":
    main()
