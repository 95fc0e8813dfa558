"""The three answers on drawn parts: how many are right, how sure, and how honest.

    python -m reader.train.calibrate.collect --reported --photos 20 --rounds 20 \\
        --evidence carry/reported.bin --out carry/reported.csv
    python -m reader.train.bench.answers carry/reported.bin

weighs what was read of parts drawn with letters, grounds and seeds that nothing was fitted on, and
writes answers.md beside this file. Shares of right ones are of all parts, legible or not.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from reader.markings import OTHER_PARTS
from reader.records import Reading, Size, Verdict
from reader.resolve.features import CLEARLY, NOMINAL
from reader.resolve.resolve import resolve
from reader.tables import Tables, load_tables
from reader.train.bench.alone import with_interval
from reader.train.calibrate import reliability
from reader.train.calibrate.collect import Kept, group, load, true_size

CARD = Path(__file__).with_suffix(".md")
MOTOR = "motor vehicle"


@dataclass(frozen=True)
class Told:
    """One answer: what was said of it, how surely, and whether that is right."""

    told: bool
    sure: bool
    probability: float
    right: bool


@dataclass(frozen=True)
class Part:
    """One drawn part and its answers; `None` where the question does not arise."""

    group: str
    has_size: bool
    size: Told
    diameter: Told
    width: Told | None
    kind: Told | None


def part(kept: Kept, tables: Tables) -> Part:
    """What is told of one part by the shipped weights."""
    truth = true_size(kept.facts[0], tables, kept.job.seeds[0])
    said = kept.job.told and kept.facts[0].part in ("tyre", "rim")
    asked = kept.facts[0].part if said else "unknown"
    reading = resolve(kept.markings, asked, tables)  # type: ignore[arg-type]
    return Part(
        group(kept),
        truth is not None,
        _size(reading, truth),
        _diameter(reading, truth),
        _width(reading, truth),
        None if said else _kind(reading, _true_kind(kept)),
    )


def _size(reading: Reading, truth: Size | None) -> Told:
    named = reading.candidates[0] if reading.candidates else None
    probability = named.probability if named else 0.0
    told = reading.verdict in (Verdict.SURE, Verdict.LIKELY)
    sure = told and reading.verdict is Verdict.SURE
    return Told(told, sure, probability, named is not None and named.size == truth)


def _diameter(reading: Reading, truth: Size | None) -> Told:
    judged = reading.diameter
    right = truth is not None and judged.value == truth.bsd
    return Told(judged.told, judged.verdict is Verdict.SURE, judged.probability, right)


def _width(reading: Reading, truth: Size | None) -> Told | None:
    judged = reading.width
    if judged.value is None or truth is None or truth.width is None:
        return None
    slack = NOMINAL if judged.nominal else 0.0
    right = abs(float(judged.value) - truth.width) <= slack
    return Told(judged.told, judged.verdict is Verdict.SURE, judged.probability, right)


def _true_kind(kept: Kept) -> str:
    """Kind of a part, '' where none is in view or a motor vehicle's size stands beside its own."""
    if group(kept) == MOTOR:
        return "other"
    beside = any(m.notation in OTHER_PARTS and m.cost <= CLEARLY for m in kept.markings)
    part = kept.facts[0].part
    return "" if beside or part == "none" or not kept.facts[0].truth else part


def _kind(reading: Reading, kind: str) -> Told | None:
    judged = reading.kind
    if judged.value is None or not kind:
        return None
    sure = judged.verdict is Verdict.SURE
    return Told(judged.told, sure, judged.probability, judged.value == kind)


def calibration_error(answers: Sequence[Told]) -> float:
    """Mean distance of said probability and share that is right, over bins of equal count."""
    if not answers:
        return 0.0
    said = np.array([one.probability for one in answers])
    return reliability.calibration_error(said, np.array([one.right for one in answers], float))


def by_group(parts: Sequence[Part]) -> str:
    """Rows of the table by recipe and family."""
    groups: dict[str, list[Part]] = defaultdict(list)
    for one in parts:
        groups[one.group].append(one)
    rows = []
    for name, some in sorted(groups.items()):
        right = [
            sum(answer.told and answer.right for answer in answers)
            for answers in ([one.size for one in some], [one.diameter for one in some])
        ]
        wrong = sum(one.diameter.told and not one.diameter.right for one in some)
        sure = sum(one.diameter.sure and not one.diameter.right for one in some)
        rows.append(f"| {name} | {len(some)} | {right[0]} | {right[1]} | {wrong} | {sure} |")
    return "\n".join(rows)


def by_answer(parts: Sequence[Part]) -> str:
    """Rows of the table by answer: told, right, wrong while sure, calibration error."""
    pick: dict[str, Callable[[Part], Told | None]] = {
        "whole size": lambda one: one.size,
        "diameter": lambda one: one.diameter,
        "width": lambda one: one.width,
        "kind of part": lambda one: one.kind,
    }
    rows = []
    for name, get in pick.items():
        asked = [answer for one in parts if (answer := get(one)) is not None]
        told = [one for one in asked if one.told]
        wrong = sum(not one.right for one in told)
        sure = [one for one in asked if one.sure]
        error = calibration_error([one for one in asked if one.probability > 0])
        rows.append(
            f"| {name} | {len(told)} | {wrong} | {len(sure)} | "
            f"{with_interval(sum(not one.right for one in sure), len(sure))} | {error:.3f} |"
        )
    return "\n".join(rows)


def table(parts: Sequence[Part]) -> str:
    """The whole report."""
    with_size = sum(one.has_size for one in parts)
    return f"""# The three answers
Written by `python -m reader.train.bench.answers`. {len(parts)} drawn parts, {with_size} of them
with a size: letters, grounds and seeds that nothing was fitted on. Every other part of a recipe was
told to be a tyre or rim, none of those with a chosen text. 'Told' is sure or likely. The kind of
part is not asked where the drawn part bears a motor vehicle's size beside its own, as no part does.

| parts | count | size told right | diameter told right | diameter told wrong | of them sure |
|---|---|---|---|---|---|
{by_group(parts)}

| answer | told | told wrong | sure | wrong while sure (95 % interval) | calibration error |
|---|---|---|---|---|---|
{by_answer(parts)}
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Weigh and write."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.bench.answers", description=__doc__
    )
    parser.add_argument("evidence", nargs="+", type=Path)
    parser.add_argument("--out", type=Path, default=CARD)
    chosen = parser.parse_args(arguments)
    tables = load_tables()
    kept = [one for path in chosen.evidence for one in load(path)]
    text = table([part(one, tables) for one in kept])
    chosen.out.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
