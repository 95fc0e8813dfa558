"""The table of names row by row, and against the tables on which each row rests."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from pathlib import Path

import pytest

from reader.errors import InputError
from reader.name_rows import Name
from reader.names.meaning import Standing
from reader.names.suggest import UnknownSize
from reader.names.typed import Typed, parse
from reader.names.verdicts import Trust
from reader.tables import load_tables

TABLES = load_tables()
FIXTURES = Path(__file__).parents[2] / "fixtures" / "sizes"
FRACTIONS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}


def typed(row: Name) -> str:
    """A text that this row stands for; of a range of decimals, one that no other row gives."""
    if row.low:
        width = round(row.low + 0.53 * (row.high - row.low), 2)
        return f"{row.diameter} x {width:.2f}"
    return row.text.replace("(", "").replace(")", "") if row.notation == "code" else row.text


def rows_of(*standings: Standing) -> list[Name]:
    """Rows that rest on this, by themselves; slips and habits of one market left out."""
    found = []
    for row in TABLES.names:
        meant = {one.size.bsd: one for one in parse(typed(row), TABLES).meanings}
        if meant[row.bsd].standing in standings and row.doubt == "":
            found.append(row)
    return found


def test_every_row_of_the_table_is_understood() -> None:
    assert len({row.text for row in TABLES.names}) > 250
    for row in TABLES.names:
        assert row.bsd in dict(parse(typed(row), TABLES).diameters), row


def test_what_several_tables_agree_on_comes_first() -> None:
    agreed = rows_of(Standing.AGREED)
    assert len(agreed) > 100
    for row in agreed:
        found = parse(typed(row), TABLES)
        rivals = {one.size.bsd for one in found.meanings if one.standing is Standing.AGREED}
        assert found.diameters[0][0] in rivals, row
        if len(rivals) == 1:
            assert found.diameters[0][0] == row.bsd, row


def test_a_disputed_name_shows_every_diameter_and_who_says_so() -> None:
    by_text: dict[str, set[int]] = {}
    for row in TABLES.names:
        by_text.setdefault(typed(row), set()).add(row.bsd)
    disputed = {text: bsds for text, bsds in by_text.items() if len(bsds) > 1}
    assert len(disputed) >= 30
    for text, bsds in disputed.items():
        found = parse(text, TABLES)
        assert bsds <= set(dict(found.diameters)), text
        for one in found.meanings:
            assert set(one.source.split(", ")) <= set(TABLES.sources)
            assert str(one.size.bsd) in one.why


def test_what_only_memory_holds_is_possible_at_most() -> None:
    remembered = rows_of(Standing.MEMORY)
    assert len(remembered) >= 15
    for row in remembered:
        found = parse(typed(row), TABLES)
        share = dict(found.diameters)[row.bsd]
        assert share <= 0.5, row
        if found.diameters[0][0] == row.bsd:
            assert found.verdict in (Trust.POSSIBLE, Trust.CANT_TELL), row


def test_one_table_alone_is_never_over_90_percent() -> None:
    alone = rows_of(Standing.SINGLE)
    assert len(alone) > 60
    for row in alone:
        assert dict(parse(typed(row), TABLES).diameters)[row.bsd] <= 0.9, row


def outside() -> list[dict[str, str]]:
    """Names with their diameter as printed in a table outside this project; its key beside it."""
    with (FIXTURES / "outside_names.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("row", outside(), ids=lambda r: f"{r['text']}={r['bsd_mm']} {r['source']}")
def test_a_name_means_what_a_table_outside_prints(row: dict[str, str]) -> None:
    """Source of each row: its key, with its title in sources.csv."""
    found = parse(row["text"], TABLES)
    bsd = int(row["bsd_mm"])
    told = [one for one in found.meanings if one.size.bsd == bsd]
    assert told
    assert row["source"] in TABLES.sources
    if row["standing"] == "agreed":
        first = [one["bsd_mm"] for one in outside() if one["text"] == row["text"]]
        assert str(found.diameters[0][0]) in first


@pytest.mark.parametrize(
    ("text", "bsd"),
    [
        # fractions that a decimal family once swallowed, with the tables that print them
        ("24 x 1 3/4", 520),  # GD
        ("22 x 1 3/4", 501),  # JT
        ("12 x 1 1/4", 248),  # DOT
        ("28 x 1 3/8", 642),  # BNA, CAB, JWP, MOR
        ("26 x 1 1/8", 590),  # DSD
        ("26 x 3/4", 571),  # JT
        ("600 x 45C", 501),  # JT
    ],
)
def test_a_fraction_never_stands_for_a_decimal(text: str, bsd: int) -> None:
    found = parse(text, TABLES)
    assert found.diameters[0][0] == bsd
    assert not {559, 507, 457, 203} & set(dict(found.diameters))


def test_two_tables_apart_are_both_told() -> None:
    """26 x 1 5/8: one Japanese page prints both 571 and 584 (JT)."""
    assert set(dict(parse("26 x 1 5/8", TABLES).diameters)) == {571, 584}


@pytest.mark.parametrize("text", ["28 x 1 1/4", "27 x 1.25", "12 x 1 3/8", "26 x 3", "24 x 2 1/2"])
def test_what_no_table_knows_is_not_known(text: str) -> None:
    with pytest.raises(UnknownSize) as caught:
        parse(text, TABLES)
    assert "no size that a table knows" in str(caught.value)


def spellings(text: str) -> list[str]:
    """The same name as other people type it."""
    tight = text.replace(" x ", "x")
    raised = text.replace(" x ", "×")
    for plain, sign in FRACTIONS.items():
        raised = raised.replace(f" {plain}", sign).replace(f"×{plain}", f"×{sign}")
    if text[0].isdigit() and " x " in text:
        comma = tight.replace(".", ",").replace(" ", "-").upper()
        return [tight, raised, comma]
    return [text.lower(), f"  {text} ", text.upper()]


def all_names() -> list[str]:
    """Every name of the table, and sizes in millimetres of every diameter."""
    named = [typed(row) for row in TABLES.names if row.notation != "code"]
    pairs = [f"{w}-{seat.bsd}" for seat in TABLES.seats for w in (28, 47) if seat.kind == "wired"]
    return [*dict.fromkeys([*named, *pairs])]


def test_three_spellings_of_every_name_mean_the_same() -> None:
    names = all_names()
    assert len(names) >= 300
    wrong = []
    for name in names:
        wanted = parse(name, TABLES).diameters
        wrong += [text for text in spellings(name) if said(text) != wanted]
    assert not wrong


def said(text: str) -> tuple[tuple[int, float], ...] | str:
    """The diameters of a text, or what is said instead."""
    try:
        found: Typed = parse(text, TABLES)
    except InputError as error:
        return str(error)
    return found.diameters


SCRIPT = """
from reader.errors import InputError
from reader.markings import parse_text
from reader.names.typed import parse
from reader.tables import load_tables
tables = load_tables()
texts = [row.text for row in tables.names]
texts += ["600x44C", "800x28C", "26 x 1 9/8", "4T-5O7", "6O0x45C", "banana", "13x1.75"]
for text in texts:
    try:
        print(text, parse(text, tables))
    except InputError as error:
        print(text, error)
    print([(one.text, one.cost) for one in parse_text(text.replace("0", "O").replace("1", "I"))])
"""


def test_answers_are_the_same_in_every_process() -> None:
    told = []
    for seed in ("1", "2024"):
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
            capture_output=True,
            check=True,
            timeout=120,
        )
        told.append(done.stdout)
    assert told[0] == told[1]
    assert len(told[0]) > 10_000
