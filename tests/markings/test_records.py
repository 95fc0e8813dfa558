"""What each notation's record says of itself, and what its texts are taken for."""

from __future__ import annotations

import pytest
from seen import line

from reader.markings import BY_NAME, NOTATIONS, find_all, parse_text
from reader.markings.letters import SPACE_ADDED
from reader.markings.notation import Kind, Tells
from reader.resolve.resolve import resolve
from reader.tables import load_tables

TABLES = load_tables()


def test_every_record_is_told_apart_by_all_its_names() -> None:
    for names in (
        [one.name for one in NOTATIONS],
        [one.label for one in NOTATIONS],
        [one.title for one in NOTATIONS],
    ):
        assert all(names) and len(set(names)) == len(NOTATIONS)


def test_only_sizes_ask_the_tables_and_are_spelt() -> None:
    for one in NOTATIONS:
        assert (one.asks is not None) is one.is_size
        assert one.is_size is (one.tells in (Tells.PAIR, Tells.NAME))
        assert (one.damaged is not None) is one.is_size
    assert [one.name for one in NOTATIONS if one.tells is Tells.WIDTH] == ["width"]
    assert BY_NAME["width"].kind is Kind.DECOY
    names = {
        one.name for one in NOTATIONS if one.chance
    }  # shorter than a pair, so likelier by chance
    assert names == {"inch_decimal", "inch_fraction", "french"}
    assert all(BY_NAME[name].chance < 0 for name in names)


@pytest.mark.parametrize(
    ("text", "value"),
    [  # words and values as makers print them (sizes list, sidewall and rim strings)
        ("NOT FOR HOOKLESS RIMS", 0.0), ("NOT FOR HOOKLESS", 0.0), ("NOT HOOKLESS", 0.0),
        ("NOT HOOKLESS COMPATIBLE", 0.0), ("NON HOOKLESS", 0.0), ("NO HOOKLESS", 0.0),
        ("HOOKED RIMS ONLY", 0.0), ("HOOKED RIM ONLY", 0.0), ("HOOKED ONLY", 0.0),
        ("HOOKLESS COMPATIBLE", 1.0), ("HOOKLESS READY", 1.0), ("HOOKLESS OK", 1.0),
        ("HOOKLESS", 1.0), ("WEAR INDICATOR", 1.0), ("RIM WEAR INDICATOR", 1.0),
        ("WEAR LIMIT", 1.0), ("WEAR LINE", 1.0), ("SAFETY LINE", 1.0),
        ("DISC ONLY", "disc"), ("DISC BRAKE", "disc"), ("DISK BRAKE", "disc"),
        ("NOT FOR RIM BRAKES", "disc"), ("RIM BRAKE ONLY", "rim"), ("RIM BRAKE", "rim"),
        ("V BRAKE", "rim"), ("TUBE TYPE ONLY", 0.0), ("TUBELESS READY", 1.0),
    ],
)  # fmt: skip
def test_words_and_what_they_mean(text: str, value: object) -> None:
    (found,) = parse_text(text)
    assert found.numbers["value"] == value


RIM_TEXTS = ("32H", "ERD 602", "DISC BRAKE ONLY", "WEAR INDICATOR")
TYRE_TEXTS = ("67 TPI", "MAX LOAD 115 KG", "INFLATE TO 50-85 PSI")


@pytest.mark.parametrize("text", [*RIM_TEXTS, *TYRE_TEXTS])
def test_text_beside_a_pair_that_may_be_either_tells_the_part(text: str) -> None:
    """25-622 is a tyre's size and a rim's: what stands beside it decides. Common practice."""
    lines = [line("25-622"), line(text, y=200)]
    reading = resolve([m for one in lines for m in find_all(one)], "unknown", TABLES)
    alone = resolve(list(find_all(lines[0])), "unknown", TABLES)
    share = dict([(reading.kind.value, reading.kind.probability), *reading.kind.others])
    before = dict([(alone.kind.value, alone.kind.probability), *alone.kind.others])
    part = "rim" if text in RIM_TEXTS else "tyre"
    assert share.get(part, 0) > before.get(part, 0)
    assert reading.kind.value == part


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("37-47 BIS 559", []),
        ("28/47-622", [("28/47-622", 0.0)]),
        ("700X28/47C", [("700x28/47C", 0.0)]),
        ("26X1.75/2.1", [("26x1.75/2.1", 0.0)]),
        ("26X2.1/1.75", []),  # the wrong way round is no range
        ("700X47/28C", []),
        ("700X28 BIS 47C", [("700x28/47C", 0.0)]),
        ("26*1.75/2.1", [("26x1.75/2.1", 0.0)]),
        ("700*28/47C", [("700x28/47C", 0.0)]),
    ],
)
def test_ranges_of_tubes(text: str, wanted: list) -> None:
    found = [(m.text, m.cost) for m in parse_text(text) if m.notation == "tube"]
    assert found == wanted


@pytest.mark.parametrize(("text", "spaces"), [("3 7-622", 1), ("3 7-62 2", 2), ("4 7-50 7", 2)])
def test_every_space_inside_a_number_costs_the_same(text: str, spaces: int) -> None:
    (found,) = [m for m in parse_text(text) if m.notation == "iso_pair" and m.cost < 4]
    assert found.text == text.replace(" ", "") and found.cost == spaces * SPACE_ADDED


def test_numbers_beyond_what_is_made_are_nothing() -> None:
    """plausible.csv; both ends count."""
    for text, fine in (
        ("15 TPI", True), ("14 TPI", False), ("400 TPI", True), ("401 TPI", False),
        ("ERD 180", True), ("ERD 179", False), ("ERD 640", True), ("ERD 641", False),
        ("MAX LOAD 10 KG", True), ("MAX LOAD 9 KG", False), ("18 MM", True), ("17 MM", False),
    ):  # fmt: skip
        assert bool(parse_text(text)) is fine, text
