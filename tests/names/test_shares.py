"""What names tell in words, and how markets and rims' edges change it."""

from __future__ import annotations

import pytest

from reader.errors import InputError
from reader.names.meanings import by_nominal, meanings
from reader.names.parts import rim_of
from reader.names.suggest import UnknownSize
from reader.names.typed import parse
from reader.tables import load_tables

TABLES = load_tables()


@pytest.mark.parametrize("text", ["27", "28 inch", "26 x 1 3/8", "700x28C", "622x19C", "28/47-622"])
def test_an_unknown_market_is_refused_everywhere(text: str) -> None:
    with pytest.raises(InputError, match="no market 'moon'"):
        parse(text, TABLES, "moon")


def test_by_nominal_and_names_refuse_it_too() -> None:
    french = {"diameter_mm": 700, "width_mm": 28, "letter": "C"}
    for ask in (
        lambda: by_nominal(28, TABLES, "moon"),
        lambda: meanings("french", french, TABLES, "moon"),
        lambda: meanings("inch_decimal", {"diameter_in": 26, "width_in": 9}, TABLES, "moon"),
    ):
        with pytest.raises(InputError, match="no market"):
            ask()


def test_a_market_moves_the_shares_of_a_name_that_means_several_sizes() -> None:
    """26 x 1 3/8 is 590 and 597 (ISO 5775 overview, source W); Britain kept 597 longer."""
    share = {
        market: dict(parse("26 x 1 3/8", TABLES, market).diameters) for market in TABLES.markets
    }
    assert len({round(one[597], 4) for one in share.values()}) > 1
    for one in share.values():
        assert sum(one.values()) <= 1


def test_how_many_tables_say_so_is_told() -> None:
    why = parse("26 x 1 3/8", TABLES).meanings[0].why
    assert "26 x 1 3/8 is 590 in " in why and "independent tables" in why
    single = [
        one.why
        for row in TABLES.names
        if row.notation == "inch_fraction"
        for one in parse(row.text, TABLES).meanings
    ]
    assert any(why.rstrip(")").find("in one table alone") > 0 for why in single)
    assert not any("None" in why for why in single)


def test_a_rims_mark_brings_its_edge_along() -> None:
    """ISO 5775-2 names edges C, SS and TC; the market's own marks TSS and HB (source I2)."""
    for text, edge in (("622x19C", "C"), ("622x23 TSS", "TSS"), ("19-622", ""), ("25C-622", "C")):
        found = [one for one in parse(text, TABLES).meanings if one.part == "rim"]
        assert {one.edge for one in found} == {edge}, text
        assert rim_of(found[0], TABLES).kind.value == edge
    pair = {"width_mm": 19, "bsd_mm": 622, "kind": "C", "order": "width"}
    assert {one.edge for one in meanings("rim", pair, TABLES)} == {"C"}
    assert {one.part for one in meanings("rim", pair | {"kind": ""}, TABLES)} == {"tyre", "rim"}
    beaded = parse("28-270", TABLES).on("rim").one("rim")
    assert rim_of(beaded, TABLES).kind.value == "HB"


@pytest.mark.parametrize("text", ["27½", "27 1/2", "27.5", "27,5", "27.5 inch", '27.5"'])
def test_half_inches_in_every_writing(text: str) -> None:
    assert [bsd for bsd, _ in parse(text, TABLES).diameters][:1] == [584]


def test_a_reading_of_typed_text_carries_what_settles_it() -> None:
    typed = parse("26 x 1 3/8", TABLES)
    reading = typed.reading()
    assert reading.advice == typed.advice and typed.advice
    assert reading.cautions == typed.cautions
    assert parse("37-622", TABLES).profile == ""
    assert [one.size.bsd for one in typed.likely()] == [
        one.size.bsd for one in typed.likely("unknown")
    ]


def test_what_may_have_been_meant_is_of_the_same_diameter() -> None:
    with pytest.raises(UnknownSize) as raised:
        parse("26 x 1 5/16", TABLES)
    assert raised.value.suggestions
    assert all(name.startswith("26") for name in raised.value.suggestions)
