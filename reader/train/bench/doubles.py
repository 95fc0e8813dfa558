"""How many doubles are found among drawn used parts, photographed in two folders each.

`python -m reader.train.bench.doubles --set FOLDER` draws, reads and compares, and writes
doubles.md beside this file. It may be stopped; the same command goes on. Needs no catalogue.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from reader.photo.likeness import threshold
from reader.train.bench.doubles_pairs import Compared, compared, make, options, rows
from reader.train.bench.doubles_sets import FIRST_SEED, folders

TABLE = Path(__file__).with_suffix(".md")
ABOUT = """# Doubles found by their looks

Written by `python -m reader.train.bench.doubles`. Drawn used parts (seeds from {seed:,}, apart from
those that were fitted on), held-out letters and backgrounds. Of each model there are two pieces of
the same mould, text and letters: one is photographed twice, by another camera in other light, in
two folders; its sibling once. Every photo went through the real reader; two folders are compared
if the same diameter and kind were read. *False* are suggested pairs of different models of one
size, for each 100 parts; *siblings* are suggested pairs of two pieces of one model, of all such
pairs that were compared: they bear the same letters, and only their wear tells them apart.
Wanted: 9 of 10 doubles at 1 false suggestion in 100 parts.

"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Draw, read, compare, write the table."""
    chosen = options(__doc__, 100).parse_args(arguments)
    make(chosen.set, list(folders(chosen.models)), chosen.carry, chosen.workers)
    text = ABOUT.format(seed=FIRST_SEED) + "\n".join(table(chosen.set)) + "\n"
    TABLE.write_text(text, encoding="utf-8")
    print(text)


def table(out: Path) -> Iterator[str]:
    """The rows of the table."""
    pairs, truth = list(compared(out)), rows(out)
    doubles = Counter(row.kind for row in truth.values() if row.piece == "0")
    drawn = {kind: count // 2 for kind, count in doubles.items()}
    yield "| lettering | doubles drawn | compared | found | siblings suggested |"
    yield "|---|---|---|---|---|"
    for kind in [*sorted(drawn), ""]:
        some = [pair for pair in pairs if not kind or pair.one.kind == kind]
        number = drawn[kind] if kind else sum(drawn.values())
        yield f"| {kind or '**all**'} | {number} | {_counts(some, number)} |"
    parts = len({(row.model, row.piece) for row in truth.values()})
    false = sum(suggested(pair) for pair in pairs if pair.truth == "other")
    others = sum(pair.truth == "other" for pair in pairs)
    yield ""
    yield (
        f"False: {false} of {others:,} pairs of different models, among {parts} parts: "
        f"{100 * false / parts:.1f} for each 100 parts."
    )


def _counts(pairs: Sequence[Compared], drawn: int) -> str:
    same = [pair for pair in pairs if pair.truth == "same"]
    siblings = [pair for pair in pairs if pair.truth == "sibling"]
    found, alike = (sum(map(suggested, some)) for some in (same, siblings))
    share = f"{found} ({100 * found / max(1, drawn):.0f} %)"
    return f"{len(same)} | {share} | {alike} of {len(siblings)}"


def suggested(pair: Compared) -> bool:
    """Whether a person would be asked about the two."""
    return pair.likeness.probability >= threshold()


if __name__ == "__main__":
    main()
