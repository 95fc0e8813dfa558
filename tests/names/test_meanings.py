"""Names to sizes and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader.errors import InputError
from reader.names.meanings import by_nominal, meanings, other_names
from reader.names.typed import parse
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


@pytest.mark.parametrize(
    ("size", "name"),
    [
        # printed beside each other on tyres, source JP2
        (Size(590, 37), "26 x 1 3/8"),
        (Size(630, 37), "27 x 1 3/8"),
        (Size(406, 47), "20 x 1.75"),
        (Size(622, 28), "700x28C"),
        # source FR2, QT
        (Size(584, 57), "27.5 x 2.25"),
        (Size(622, 37), "700x35C"),
        # source Y
        (Size(239, 32), "300x32A"),
        (Size(239, 32), "12 1/2 x 1 3/8 x 1 1/4"),
    ],
)
def test_a_size_has_the_name_printed_beside_it(size: Size, name: str) -> None:
    assert name in other_names(size, TABLES)


def test_without_a_width_every_name_is_listed() -> None:
    assert {"650B", "26 x 1 1/2", "27.5 x 1.25 to 4.0"} <= set(other_names(Size(584), TABLES))


def test_a_width_that_no_row_prints_has_no_inch_name() -> None:
    assert other_names(Size(239, 40), TABLES) == ("300x40A",)
    assert "700x33C" in other_names(Size(622, 33), TABLES)


def test_misuse_is_understood_and_not_taught() -> None:
    assert "28 x 1 1/2" not in other_names(Size(622), TABLES)
    assert "20 x 1 3/4" not in other_names(Size(451, 47), TABLES)


@pytest.mark.parametrize("bsd", sorted({row.bsd for row in TABLES.names}))
def test_names_lead_back_to_their_diameter(bsd: int) -> None:
    for name in other_names(Size(bsd), TABLES):
        if " to " not in name:
            assert bsd in dict(parse(name, TABLES).diameters), name


@given(
    st.sampled_from(["inch_decimal", "inch_fraction"]),
    st.sampled_from([12, 12.5, 14, 16, 18, 20, 22, 24, 26, 27, 27.5, 28, 29]),
    st.sampled_from(["1", "1 1/8", "1 3/8", "1.5", "1.75", "2", "2.125", "2 1/4"]),
    st.sampled_from(["", "S-6", "E.A.3", "F.13", "X.9"]),
    st.sampled_from(TABLES.markets),
)
def test_shares_stay_below_one_in_every_market(notation, diameter, text, code, market) -> None:
    from reader.tables import inches

    numbers = {"diameter_in": diameter, "width_in": inches(text), "width_text": text, "code": code}
    found = meanings(notation, numbers, TABLES, market)
    if found:
        assert 0 < sum(one.share for one in found) < 1
        assert [one.share for one in found] == sorted((one.share for one in found), reverse=True)
        for one in found:
            assert one.why and set(one.source.split(", ")) <= set(TABLES.sources)


def test_a_code_settles_which_fraction() -> None:
    numbers = {"diameter_in": 26, "width_in": 1.375, "width_text": "1 3/8", "code": "S6"}
    assert [one.size.bsd for one in meanings("inch_fraction", numbers, TABLES)] == [597]


def test_a_width_without_a_row_is_its_arithmetic_value() -> None:
    numbers = {"diameter_in": 26, "width_in": 2.27, "width_text": "2.27"}
    assert str(meanings("inch_decimal", numbers, TABLES)[0].size) == "58-559"


def test_heights_and_widths_the_other_way_round_are_understood() -> None:
    """One German page gives width before height (source GER)."""
    numbers = {"diameter_in": 28, "height_in": 1.375, "width_in": 1.625}
    assert meanings("inch_three", numbers, TABLES)[0].size.bsd == 622


def test_a_narrow_650_without_a_letter_is_usually_650c() -> None:
    numbers = {"diameter_mm": 650, "width_mm": 23, "letter": ""}
    assert meanings("french", numbers, TABLES)[0].size.bsd == 571


def test_a_rim_mark_is_a_rim_and_a_wide_one_perhaps_a_tyre() -> None:
    rim = {"bsd_mm": 622, "width_mm": 19, "kind": "C", "order": "bsd"}
    assert {one.part for one in meanings("rim", rim, TABLES)} == {"rim"}
    wide = {"bsd_mm": 622, "width_mm": 54, "kind": "", "order": "bsd"}
    assert "tyre" in {one.part for one in meanings("rim", wide, TABLES)}
    other_order = {"bsd_mm": 622, "width_mm": 25, "kind": "", "order": "width"}
    assert {one.part for one in meanings("rim", other_order, TABLES)} == {"tyre", "rim"}


def test_beaded_edge_diameters_say_so() -> None:
    found = meanings("iso_pair", {"width_mm": 27, "bsd_mm": 270}, TABLES)
    assert "beaded-edge" in found[0].why


@pytest.mark.parametrize(
    ("notation", "numbers"),
    [
        ("iso_pair", {"width_mm": 47, "bsd_mm": 508}),
        ("iso_pair", {"width_mm": 622, "bsd_mm": 622}),
        ("threads", {"value": 67}),
        ("french", {"diameter_mm": 723, "width_mm": 20, "letter": ""}),
        ("inch_three", {"diameter_in": 28, "height_in": 3, "width_in": 3}),
        ("inch_decimal", {"diameter_in": 31, "width_in": 2.0, "width_text": "2.0"}),
        ("tube", {"bsd_mm": 5, "bsd2_mm": 0}),
    ],
)
def test_what_no_table_knows_means_nothing(notation: str, numbers: dict) -> None:
    assert meanings(notation, numbers, TABLES) == ()


def test_an_unknown_market_is_an_error() -> None:
    with pytest.raises(InputError, match="market"):
        meanings("iso_pair", {"width_mm": 47, "bsd_mm": 507}, TABLES, "moon")
    assert by_nominal(99, TABLES) == ()


def test_a_diameter_without_a_width_keeps_the_width_open() -> None:
    found = meanings("inch_decimal", {"diameter_in": 24, "width_in": 0, "width_text": ""}, TABLES)
    assert [str(one.size) for one in found] == ["?-507"]
