"""Typed texts: every name read in a source leads to its bead seat diameter; doubts are told."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from reader.errors import InputError
from reader.fit.parts import Edge
from reader.names.parts import rim_of, tyre_of
from reader.names.suggest import UnknownSize
from reader.names.typed import Typed, parse
from reader.names.verdicts import Trust
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()
FIXTURES = Path(__file__).parents[2] / "fixtures" / "sizes"
SETTLED = (Trust.SURE, Trust.LIKELY)


def say(text: str, market: str = "world") -> Typed:
    return parse(text, TABLES, market)


def bsds(answer: Typed) -> list[int]:
    return [one.size.bsd for one in answer.meanings]


def read_rows() -> list[dict[str, str]]:
    """Names of bsd_mm as read in the source of the row; 'alone' = no list gives another meaning."""
    with (FIXTURES / "read_rows.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("row", read_rows(), ids=lambda row: f"{row['text']} = {row['bsd_mm']}")
def test_every_name_read_in_a_source_leads_to_its_diameter(row: dict[str, str]) -> None:
    assert row["source"] in TABLES.sources
    found = say(row["text"])
    assert int(row["bsd_mm"]) in bsds(found)
    if row["alone"] == "no" and row["text"] != "16 x 1 1/8":  # alone, in an unchecked list
        assert found.ambiguous


def test_names_with_one_meaning_come_first_and_settled() -> None:
    alone = [row for row in read_rows() if row["alone"] == "yes"]
    hits = 0
    for row in alone:
        found = say(row["text"])
        hits += bsds(found)[0] == int(row["bsd_mm"]) and found.verdict in SETTLED
    assert hits / len(alone) >= 0.95


@pytest.mark.parametrize(
    ("text", "several"),
    [
        # section 1 of the size notes: the ambiguities that the lists read show (DB, Y, JP1, NL)
        ("26 x 1 3/8", {590, 597, 584}),
        ("16 x 1 3/8", {349, 337, 335}),
        ("20 x 1 3/4", {419, 451}),
        ("20 x 1 1/2", {432, 438}),
        ("24 x 1", {520, 540}),
        ("24 x 1 1/8", {520, 540}),
        ("24 x 1 3/8", {540, 547, 541}),
        ("22 x 1 3/8", {501, 490, 489}),
        ("18 x 1 3/8", {400, 390}),
        ("12 1/2 x 2 1/4", {203, 239}),
        ("350A", {288, 298}),
        ("600A", {540, 541}),
        ("28 x 1 1/2", {635, 622}),
        ("28 x 1 3/8", {642, 622}),
        ("26 x 1.25", {559, 599}),
        ("26 x 1.375", {559, 599}),
        ("8 x 2", {94, 137}),
    ],
)
def test_every_listed_ambiguity_is_reported(text: str, several: set[int]) -> None:
    found = say(text)
    assert several <= set(bsds(found))
    assert found.ambiguous
    assert found.verdict is not Trust.SURE
    assert found.advice


def test_the_same_arithmetic_value_is_not_the_same_size() -> None:
    """26 x 1.5 is 559 and 26 x 1 1/2 is 584 (source SB: they do not interchange)."""
    assert bsds(say("26 x 1.5"))[0] == 559
    assert bsds(say("26 x 1 1/2"))[0] == 584
    assert bsds(say("26 x 1"))[0] == 571
    assert bsds(say("26 x 1.0"))[0] == 559


def test_the_iso_example_is_sure() -> None:
    """ISO 5775-1's own example as quoted by source W: 32-597 inflate to 400 kPa."""
    found = say("32-597 inflate to 400 kPa")
    assert found.verdict is Trust.SURE
    assert str(found.meanings[0].size) == "32-597"


def test_the_iso_rim_example_is_a_rim() -> None:
    """ISO 5775-2:2015's example as quoted by source I2: SS 400x20."""
    found = say("SS 400x20")
    assert found.meanings[0].part == "rim"
    assert str(found.meanings[0].size) == "20-400"


def test_a_pair_that_may_be_tyre_or_rim_says_so() -> None:
    found = say("25-622")
    assert {one.part for one in found.meanings} == {"tyre", "rim"}
    assert found.verdict is not Trust.SURE
    assert any("tyre or on a rim" in step for step in found.advice)


def test_region_moves_the_prior_and_rules_nothing_out() -> None:
    at_home, elsewhere = say("20 x 1 3/4", "japan"), say("20 x 1 3/4", "europe")
    assert bsds(at_home)[0] == 451
    assert bsds(elsewhere)[0] == 419
    assert set(bsds(at_home)) == set(bsds(elsewhere))


def test_inch_and_french_texts_alone_are_never_sure() -> None:
    for row in read_rows():
        if "-" not in row["text"] and "SS" not in row["text"]:
            found = say(row["text"])
            assert found.verdict is not Trust.SURE
            assert found.cautions


def test_a_diameter_from_memory_is_never_sure() -> None:
    found = say("37-484")
    assert found.meanings[0].from_memory
    assert found.verdict is not Trust.SURE
    assert any("from memory" in step for step in found.advice)


def test_a_pair_beside_an_agreeing_name_is_sure() -> None:
    found = say("37-590 26 x 1 3/8")
    assert found.verdict is Trust.SURE
    assert str(found.meanings[0].size) == "37-590"
    assert not found.contradictions


def test_contradicting_texts_are_shown_and_settle_nothing() -> None:
    found = say("50-622 26 x 2.00")
    assert found.verdict is Trust.CANT_TELL
    assert len(found.contradictions) == 1
    assert "622" in found.contradictions[0] and "559" in found.contradictions[0]
    assert bsds(found)[0] == 622  # the pair outweighs the inch text


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("4T-5O7", "47-507"),
        ("800x28C", "700x28C"),
        ("37-59026X1 3/8", "37-590"),
        ("28-62Z", "28-622"),
        ("26 x l.75", "26 x 1.75"),
    ],
)
def test_what_may_be_a_slip_is_asked_back_and_not_answered(text: str, meant: str) -> None:
    with pytest.raises(UnknownSize, match="did you mean") as caught:
        say(text)
    assert meant in caught.value.suggestions


def test_what_no_marking_explains_is_told_and_settles_nothing() -> None:
    found = say("26 x 1 3/8 80 psi 55")
    assert found.unread == ("55",)
    assert found.verdict is Trust.CANT_TELL
    assert say("37-590 65 PSI ART. NO. 4711").unread == ()


def test_a_tube_label_lists_all_its_diameters() -> None:
    found = say("28/47-622/635")
    assert set(bsds(found)) == {622, 635}
    assert found.verdict is Trust.SURE
    assert {one.part for one in found.meanings} == {"tube"}
    assert not found.reading().candidates


def test_sizes_a_tape_cannot_part_are_named() -> None:
    found = say("600A")
    assert any("too close for a tape" in step for step in found.advice)


@pytest.mark.parametrize("text", ["banana", "50-85 PSI", "67 TPI", ""])
def test_what_is_no_size_gets_an_example(text: str) -> None:
    with pytest.raises(InputError, match="37-590"):
        say(text)


@pytest.mark.parametrize(
    ("diameter", "several"),
    [
        # section 1.2 of the size notes: bead seat diameters by bare nominal
        (12, {203, 239}),
        (14, {254, 279, 288, 298}),
        (16, {305, 317, 330, 335, 337, 340, 349}),
        (18, {355, 390, 400}),
        (20, {406, 419, 432, 438, 451}),
        (22, {457, 489, 490, 501}),
        (24, {507, 520, 540, 541, 547}),
        (26, {559, 571, 584, 590, 597, 599}),
        (27, {630, 609}),
        (27.5, {584}),
        (28, {622, 635, 642}),
        (29, {622}),
        (650, {571, 584, 590}),
        (700, {622}),
    ],
)
def test_a_bare_nominal_lists_all_its_diameters(diameter: float, several: set[int]) -> None:
    found = say(f"{diameter:g}")
    assert several <= set(bsds(found))
    assert found.verdict is not Trust.SURE
    assert (found.verdict is Trust.LIKELY) == (len(found.meanings) == 1)


def test_an_unknown_nominal_is_an_error() -> None:
    with pytest.raises(InputError, match="31"):
        say("31")


@pytest.mark.parametrize(
    ("text", "part", "size"),
    [
        ("37-590", "tyre", Size(590, 37)),
        ("700x28C", "tyre", Size(622, 28)),
        ("622x19C", "rim", Size(622, 19)),
        ("19-622", "rim", Size(622, 19)),
        ("540-20", "rim", Size(540, 20)),  # a rim marked with the diameter first: source EXP
        ("622x19 TC", "rim", Size(622, 19)),
        ("25x622mm, TSS", "rim", Size(622, 25)),  # a rim maker's way of writing: source CK
        ("622X16mm", "rim", Size(622, 16)),  # a rim's label: source GEI
        ("650B", "tyre", Size(584)),
        ("?-622", "tyre", Size(622)),
        ("622 x ?", "rim", Size(622)),
        ("590", "tyre", Size(590)),
        ("590", "rim", Size(590)),
        ("39-622", "tyre", Size(622, 39)),  # a width that no list holds, typed all the same
    ],
)
def test_what_is_clear_is_taken(text: str, part: str, size: Size) -> None:
    one = say(text).one(part)
    assert (one.size, one.part) == (size, part)


def test_the_letters_of_a_rims_edge_are_kept() -> None:
    assert say("622x25TSS").one("rim").edge == "TSS"
    assert say("HB 270x20").one("rim").edge == "HB"
    assert say("37-622").one("tyre").edge == ""


def test_a_name_of_two_sizes_is_not_decided_for_anybody() -> None:
    found = say("26 x 1 3/8")
    assert {590, 597} <= {one.size.bsd for one in found.likely("tyre")}
    with pytest.raises(InputError, match="can be"):
        found.one("tyre")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("47-508", "504, 507, 510"),
        ("508", "504, 507, 510"),
        ("699x19C", "686"),
        ("999x19C", "beyond any"),
        ("622-47", "did you mean 47-622"),
        ("SS 622x19C", "two kinds"),
        ("622-622", "beyond any"),
        ("1-622", "beyond any"),
        ("11-622", "no width"),
        ("0-0", "for example"),
        ("9999", "for example"),
        ("; DROP", "for example"),
        ("é" * 60, "for example"),
        ("4" * 201, "short text"),
    ],
)
def test_nonsense_is_refused_with_what_to_do(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        say(text)
    assert caught.value.remedy


def test_a_part_that_the_text_cannot_be_of_changes_nothing() -> None:
    found = say("700x28C")
    assert found.on("rim") is found
    assert found.on("anything") is found
    assert found.kind == "tyre"


@pytest.mark.parametrize(
    "text", ["47-507", " 47 \u2013 507 ", "47/507", "47,0-507", "47 mm - 507 mm"]
)
def test_pairs_however_they_are_typed(text: str) -> None:
    assert say(text).one("tyre").size == Size(507, 47)


def test_a_rim_by_its_edge_and_by_the_letters_before_it() -> None:
    beaded = rim_of(say("270x20").one("rim"), TABLES)
    assert (beaded.size, beaded.kind) == (Size(270, 20), "HB")
    assert rim_of(say("SS 400x20 SS").one("rim"), TABLES).kind == "SS"
    assert tyre_of(say("28-622").one("tyre"), TABLES).edge is Edge.WIRED


def test_a_letter_that_means_nothing_there_is_not_passed_over() -> None:
    with pytest.raises(UnknownSize, match="did you mean 622x19"):
        say("622x19Q")
