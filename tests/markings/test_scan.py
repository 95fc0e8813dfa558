"""What the search as a whole does: what it skips, keeps and puts in order."""

from __future__ import annotations

import numpy as np
import pytest

from reader.markings import SIZES, find_all, parse_text
from reader.markings.letters import damage, meant, pinned
from reader.records import Hypothesis
from reader.text.normalise import fold


def sizes(text: str) -> list[str]:
    return [m.notation for m in parse_text(text) if m.notation not in ("pressure", "load")]


@pytest.mark.parametrize("text", ["", "7", "MAX", "?-?", " "])
def test_texts_without_two_digits_hold_nothing(text: str) -> None:
    assert parse_text(text) == ()


def test_words_alone_can_tell_something_but_no_size() -> None:
    assert [m.text for m in parse_text("TUBELESS READY")] == ["TUBELESS READY"]
    assert parse_text("FRONT WHEEL") == ()


def test_overlapping_readings_are_all_kept() -> None:
    assert sizes("25-622") == ["iso_pair", "rim"]
    assert sizes("400x32") == ["rim", "french"]


def test_damage_is_searched_beside_a_clean_size() -> None:
    found = [(m.text, m.cost) for m in parse_text("57-5O7 24X2.125")]
    assert ("57-507", 2.0) in found
    assert ("24 x 2.125", 0.0) in found


def test_a_whole_typical_line() -> None:
    text = (
        "37-622 (700X35C) 28X1 3/8X1 5/8 INFLATE TO 50-85 PSI MAX LOAD 100 KG 67 TPI E4 75R-0012345"
    )
    assert [(m.notation, m.text) for m in parse_text(text)] == [
        ("iso_pair", "37-622"),
        ("rim", "37-622"),
        ("french", "700x35C"),
        ("inch_three", "28 x 1 5/8 x 1 3/8"),
        ("pressure", "50-85 PSI"),
        ("load", "100 kg"),
        ("threads", "67 TPI"),
        ("approval", "E4 75R-0012345"),
    ]


@pytest.mark.parametrize(
    "text",
    [
        # designations of car, motorcycle and moped tyres (UN Regulations 30 and 75, from memory)
        "205/55R16 91V",
        "195/65 R 15 91 H",
        "185 R 14 C",
        "130/70-17 M/C 62H",
        "120/70ZR17",
        "80/90-17",
        "2.75-18",
        "2 1/4-17",
        "4.10/3.50-4",
        "18x9.50-8",
        # numbers of other kinds
        "TEL 0421 47 507 20",
        "+49 421 622 700-28",
        "0800/622700",
        "ART. NO. 47-507-20",
        "REF: 28-622",
        "EAN 4006381333931",
        "ISBN 978-3-16-148410-0",
        "14.05.2019 12:30",
        "2019-05-14",
        "192.168.0.1",
        "IBAN DE89 3704 0044 0532 0130 00",
    ],
)
def test_numbers_of_other_things_are_no_size(text: str) -> None:
    assert SIZES.isdisjoint(m.notation for m in parse_text(text))


def test_spans_count_in_the_text_as_given() -> None:
    text = "« 26×1⅜ » 37–590"
    spans = {m.notation: text[slice(*m.span)] for m in parse_text(text)}
    assert spans["inch_fraction"] == "26×1⅜"
    assert spans["iso_pair"] == "37–590"
    spread = "4 7 - 5 0 7"
    assert {spread[slice(*m.span)] for m in parse_text(spread)} == {spread}


def test_find_all_keeps_the_hypothesis() -> None:
    hypothesis = Hypothesis("replay", "47-507", 0.9, log_probs=np.zeros((3, 2), np.float32))
    assert {m.hypothesis for m in find_all(hypothesis)} == {hypothesis}


def test_a_long_text_is_cut() -> None:
    assert parse_text("47-507" + " " * 10_000 + "37-622")[0].text == "47-507"
    assert len(parse_text(" " * 10_000 + "37-622")) == 0


def test_costs_grow_with_damage() -> None:
    costs = [
        min(m.cost for m in parse_text(text) if m.notation == "iso_pair")
        for text in ("47-507", "47-5O7", "47 507", "47507", "47-5?7")
    ]
    assert costs == sorted(costs)
    assert costs[0] == 0


def test_folding() -> None:
    assert fold("47–507 (24×1¾)") == ("47-507 (24X1 3/4)", [*range(12), 12, 12, 12, 12, 13, 14])
    assert fold("47-507") == ("47-507", None)


def test_what_a_damaged_text_can_mean() -> None:
    assert damage("507", "507") == 0
    assert meant("99", ["12", "507"]) == {}
    assert pinned({}) == {}
    assert pinned(dict.fromkeys("abcde", 1.0)) == {}
