"""What the answers say in words: figures, reasons, remedies and where they come from."""

from __future__ import annotations

import pytest
from mounted import PROPER, TABLES, grade

from reader.errors import InputError
from reader.fit.grades import Grade
from reader.fit.mount import fit
from reader.fit.partners import tyres_for
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.pressure_text import parse_printed
from reader.fit.room import Opening
from reader.fit.tube import parse_tube, suits
from reader.fit.wheel import list_spread, outer_diameter
from reader.fit.widths import HAPPENS_WIDE, NOT_HELD
from reader.records import Size


def test_every_word_of_every_edition_comes_with_the_grade() -> None:
    found = grade(28, 622, 17)
    assert {one.edition for one in found.editions} >= {"ETRTO 2006", "ETRTO before 2006"}
    assert {str(one.word) for one in found.editions} <= {
        "allows", "does not allow", "does not speak of",
    }  # fmt: skip


@pytest.mark.parametrize("edge", [Edge.BEADED, Edge.TUBULAR])
def test_an_edge_without_a_table_is_named(edge: Edge) -> None:
    kind = "HB" if edge is Edge.BEADED else "TUBULAR"
    (reason,) = grade(28, 622, 17, kind=kind, edge=edge).reasons
    assert reason == f"equal diameters; no width table for {edge.value} tyres is held here"
    assert edge.value in ("beaded edge", "tubular") and Edge.WIRED.value == "wired"


def test_a_hookless_rim_asks_for_both_words_of_the_tyre() -> None:
    checks = grade(40, 622, 23, kind="TSS").checks
    assert any("tubeless type" in one for one in checks)
    assert any("approve it for hookless rims" in one for one in checks)
    assert not grade(40, 622, 23, kind="TSS", **PROPER).checks


def test_hooked_tables_are_told_and_not_counted_on_hookless_rims() -> None:
    """Ranges up to 2006 are printed for crochet rims (source DER)."""
    found = grade(50, 622, 23, kind="TSS", **PROPER)
    assert {one.edition for one in found.editions if one.role == "shown"} >= {"ETRTO 2006"}
    assert {one.note for one in found.editions if one.role == "shown"} >= {"made for hooked rims"}


def test_a_rim_nearly_as_wide_as_its_tyre_is_said_to_be() -> None:
    found = grade(25, 622, 24)
    assert found.grade is Grade.UNLISTED
    assert "a 25 mm tyre on 24 mm inside" in found.reasons[0]
    assert "nearly as wide as the tyre" in found.reasons[0]


def test_a_tyre_far_wider_than_its_rim_is_warned_of() -> None:
    assert HAPPENS_WIDE in grade(65, 622, 25).cautions  # 2.6 times, where no edition forbids it
    assert HAPPENS_WIDE not in grade(57, 622, 25).cautions  # 2.3 times
    assert "only measuring rims" in NOT_HELD


def test_roads_are_meant_unless_said_otherwise() -> None:
    """Hookless limits of pressure are 5 bar on roads alone (source CK)."""
    rim = Rim(Size(622, 23), RimKind.HOOKLESS)
    plain, road = tyres_for(rim, TABLES), tyres_for(rim, TABLES, "road")
    assert [line.fit for line in plain] == [line.fit for line in road]


def test_a_tube_tells_its_range() -> None:
    tube = parse_tube("37/57-559")
    assert tube.valve == "" and tube.valve_mm is None
    assert suits(tube, Size(559, 47)).reason == "47 mm lies in 37 to 57 mm, diameter listed"
    narrow, wide = suits(tube, Size(559, 35)), suits(tube, Size(559, 60))
    assert "narrower than 37 to 57 mm" in narrow.reason and narrow.source == "PRACTICE"
    assert "wider than 37 to 57 mm" in wide.reason and wide.source == "PRACTICE"
    assert suits(tube, Size(559)).source == suits(tube, Size(622, 47)).source == "PRACTICE"


@pytest.mark.parametrize(
    ("word", "valve"),
    [  # labels of shops (sources TDO, XJD, WNL); Woods and Blitz are the bicycle valve's old names
        ("SV", "presta"), ("FV", "presta"), ("Presta", "presta"), ("Sclaverand", "presta"),
        ("French", "presta"), ("AV", "schrader"), ("Schrader", "schrader"), ("Auto", "schrader"),
        ("American", "schrader"), ("DV", "dunlop"), ("DL", "dunlop"), ("Dunlop", "dunlop"),
        ("Woods", "dunlop"), ("Blitz", "dunlop"), ("English", "dunlop"), ("Dutch", "dunlop"),
    ],
)  # fmt: skip
def test_every_word_for_a_valve(word: str, valve: str) -> None:
    assert parse_tube(f"37/57-559 {word}").valve == valve


@pytest.mark.parametrize("gap", [0, 30])
def test_a_gap_may_be_nothing_or_three_centimetres(gap: float) -> None:
    assert Opening("fork", 60, gap).free == 60 - 2 * gap
    for wrong in (-1, 31):
        with pytest.raises(InputError, match="for example 6"):
            Opening("fork", 60, wrong)


def test_the_outer_diameter_carries_its_formula_and_sources() -> None:
    """Circumferences of lists lie within 3 % from 559 mm up, 5 % below (circumference.csv)."""
    found = outer_diameter(Size(622, 28))
    assert (found.value, found.unit) == (678, "mm")
    assert (found.source, found.formula) == ("W, GEO", "bead seat diameter + 2 x width")
    for row in TABLES.circumferences:
        share = abs(row.mm / 3.14159265 / (row.bsd + 2 * row.width) - 1)
        assert share <= list_spread(row.bsd) <= 0.05
    with pytest.raises(InputError, match="the tyre's width is not known"):
        outer_diameter(Size(622))


def test_a_limit_printed_twice_is_shown_back() -> None:
    with pytest.raises(InputError, match="'50 PSI 60 PSI' sets one limit twice"):
        parse_printed("50 PSI 60 PSI")


def test_makers_who_contradict_the_tables_overrule_them() -> None:
    found = fit(Tyre(Size(622, 28)), Rim(Size(622, 25), tyre_range=(25, 47)), TABLES)
    assert "the rim's maker allows tyres of 25 to 47 mm" in found.reasons[0]
    found = fit(Tyre(Size(622, 28), rim_range=(19, 30)), Rim(Size(622, 25)), TABLES)
    assert "the tyre's maker allows rims of 19 to 30 mm" in found.reasons[0]
