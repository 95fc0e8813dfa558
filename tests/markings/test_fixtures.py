"""Every line of fixtures/markings: what each notation finds in a text, and what it must not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from reader.markings import NOTATIONS, parse_text
from reader.tables import load_tables

FOLDER = Path(__file__).parents[2] / "fixtures" / "markings"
FILES = sorted(FOLDER.glob("*.txt"))


def lines(path: Path) -> Iterator[tuple[int, str, list[tuple[str, float]]]]:
    """Line number, text, and the texts and costs to be found there."""
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if line.startswith("!"):
            yield number, line[1:].strip(), []
        elif line and not line.startswith("#"):
            text, results = line.split(" => ")
            parts = [result.partition(" @ ") for result in results.split(" ; ")]
            wanted = [(name.strip(), float(cost or 0)) for name, _, cost in parts]
            yield number, text.strip(), wanted


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_file(path: Path) -> None:
    wrong = []
    for number, text, wanted in lines(path):
        found = [(m.text, m.cost) for m in parse_text(text) if m.notation == path.stem]
        if sorted(found) != sorted(wanted):
            wrong.append(f"{path.name}:{number} {text!r}: wanted {wanted}, found {found}")
    assert not wrong, "\n".join(wrong)


def test_every_notation_has_a_file_of_25_lines() -> None:
    assert {path.stem for path in FILES} == {n.name for n in NOTATIONS}
    assert min(len(list(lines(path))) for path in FILES) >= 25


def test_every_wired_bead_seat_that_was_read_has_a_pair() -> None:
    pairs = (name for *_, wanted in lines(FOLDER / "iso_pair.txt") for name, _ in wanted)
    seats = {int(pair.partition("-")[2]) for pair in pairs}
    read = {s.bsd for s in load_tables().seats if s.kind == "wired" and s.basis == "read"}
    assert not read - seats


def test_clean_texts_are_found_by_the_notation_alone_too() -> None:
    by_name = {n.name: n for n in NOTATIONS}
    for path in FILES:
        for number, text, wanted in lines(path):
            if wanted and not any(cost for _, cost in wanted):
                found = {m.text for m in by_name[path.stem].find(text)}
                assert {name for name, _ in wanted} <= found, f"{path.name}:{number}"
