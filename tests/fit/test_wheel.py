"""Dimensions of the wheel against published circumferences and plane geometry."""

from __future__ import annotations

import math

import pytest

from reader.errors import InputError
from reader.fit.section import measuring_rim, section, section_width
from reader.fit.wheel import (
    clearance,
    development,
    envelope,
    list_spread,
    outer_diameter,
    rolling,
    swap,
)
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


@pytest.mark.parametrize("row", TABLES.circumferences, ids=lambda row: f"{row.width:g}-{row.bsd}")
def test_published_circumferences(row) -> None:
    """Lists QT, WL, SBC, BR2, JT, SPD, NRW: within 3 % from 559 mm up and 5 % below."""
    found = rolling(Size(row.bsd, row.width), TABLES)
    assert found.unloaded.value == pytest.approx(row.mm, rel=list_spread(row.bsd))
    assert found.unloaded.low <= row.mm <= found.unloaded.high
    if row.load:
        assert row in found.measured and row not in found.published
        return
    assert row in found.published
    assert found.computer.low <= row.mm <= found.computer.high


def test_a_ridden_wheel_rolls_less_far() -> None:
    """Source LOAD: one 700x23 tyre 2105 mm unloaded, 2080 mm ridden."""
    found = rolling(Size(622, 23), TABLES)
    assert found.ridden.value / found.unloaded.value == pytest.approx(2080 / 2105, abs=0.001)


def test_an_unlisted_size_rests_on_the_estimate() -> None:
    found = rolling(Size(490, 37), TABLES)
    assert not found.published
    assert found.ridden.value < found.computer.value < found.unloaded.value
    assert (found.computer.low, found.computer.high) == (found.ridden.low, found.unloaded.high)


def test_one_size_in_several_lists_is_a_range_and_each_list_is_named() -> None:
    """35-622: 2168 in the Japanese table and by radius (QT, SBC), 2185 on a German page (NRW)."""
    found = rolling(Size(622, 35), TABLES)
    assert (found.computer.low, found.computer.high) == (2168, 2185)
    named = {mm: {row.source for row in rows} for mm, rows in found.by_value}
    assert named == {2168: {"QT", "SBC"}, 2185: {"NRW"}}
    assert [(row.mm, row.load) for row in found.measured] == [(2166, "ridden")]
    assert 2168 not in [row.mm for row in rolling(Size(622, 37), TABLES).published]


def test_a_name_is_not_taken_for_a_width() -> None:
    """The table prints 700x35C; only the width of the name itself is concluded from it."""
    for row in TABLES.circumferences:
        if row.inferred and row.sold_as.startswith("700"):
            assert row.width == float(row.sold_as[3:].strip(" xC"))


def test_the_envelope_of_iso() -> None:
    """Source W: section height = width, 2.5 mm more below 28 mm."""
    assert envelope(Size(622, 23)) == 622 + 2 * 25.5
    assert envelope(Size(622, 28)) == 678
    assert outer_diameter(Size(622, 23)).high >= envelope(Size(622, 23))


def test_clearance_adds_air_and_grows_with_the_rim() -> None:
    bare, wide = clearance(Size(622, 40)), clearance(Size(622, 40), 30)
    assert bare.needed_radius == pytest.approx(702 / 2 + 6)
    assert wide.needed_width > bare.needed_width - 6
    assert wide.mudguard_width > 40


def test_swap_tells_gear_and_computer() -> None:
    smaller = swap(Size(622, 28), Size(559, 32), TABLES)
    assert smaller.distance_share == pytest.approx((559 + 64) / (622 + 56) - 1, abs=0.01)
    for change in (smaller, swap(Size(622, 28), Size(490, 37), TABLES)):
        assert change.distance_share == pytest.approx(change.new.value / change.old.value - 1)
        assert change.new.formula == change.old.formula  # never a list against the formula
    assert "easier" in smaller.words and "too much" in smaller.words
    larger = swap(Size(559, 32), Size(622, 28), TABLES)
    assert "harder" in larger.words and "too little" in larger.words
    assert larger.radius_mm == pytest.approx(27.5, abs=1.5)
    assert "stays" in swap(Size(622, 28), Size(622, 28), TABLES).words


def test_development_is_circumference_times_ratio() -> None:
    found = development(Size(622, 28), 46, 23, TABLES)
    assert found.value == pytest.approx(2 * (2.111 + 2.136) / 2)  # lists SBC and QT
    with pytest.raises(InputError, match="46 and 18"):
        development(Size(622, 28), 0, 18, TABLES)


@pytest.mark.parametrize("job", [outer_diameter, clearance, envelope])
def test_a_width_is_needed(job) -> None:
    with pytest.raises(InputError, match="28-622"):
        job(Size(622))


@pytest.mark.parametrize(
    ("width", "rim"),
    # ETRTO 2020 as reprinted on a tyre maker's page (source VIT)
    [(18, 15), (23, 17), (25, 19), (28, 19), (28.4, 19), (29, 21), (34, 21), (35, 23), (46, 23),
     (47, 25), (57, 25), (58, 30), (66, 35), (72, 45), (84, 76), (132, 94)],
)  # fmt: skip
def test_measuring_rims_of_2020(width: float, rim: float) -> None:
    assert measuring_rim(width) == rim


def test_measuring_rims_of_the_older_standard() -> None:
    """Source W: 65 % of the width below 30 mm, 55 % above; where 2020 lists none."""
    assert measuring_rim(16) == pytest.approx(10.4)
    assert measuring_rim(134) == pytest.approx(73.7)


@pytest.mark.parametrize("width", [23, 28, 37, 47, 60])
def test_section_width_on_its_measuring_rim_is_nominal(width: float) -> None:
    assert section_width(Size(622, width), measuring_rim(width)).value == pytest.approx(width)


@pytest.mark.parametrize("width", [25, 32, 40, 50])
def test_growth_spans_what_is_said_of_it(width: float) -> None:
    """0.4 (from memory) to 0.64 (a rider's tyres, source LFG) mm per mm of rim, and geometry."""
    rim = measuring_rim(width)
    on_rim = section_width(Size(622, width), rim + 4)
    assert on_rim.low <= width + 4 * 0.4 < width + 4 * 0.64 <= on_rim.high
    assert on_rim.high - on_rim.low < 4


def test_one_riders_tyre_on_two_rims() -> None:
    """A 25 mm road tyre measured 26.5 on 16.5 mm and 30 on 21 mm inside (source LFG): 3.5 more."""
    narrow, wide = section_width(Size(622, 25), 16.5), section_width(Size(622, 25), 21)
    assert wide.low - narrow.high < 3.5 < wide.high - narrow.low


def test_the_drawn_outline_keeps_the_casings_length_and_stands_on_the_beads() -> None:
    for inner in (15.0, 19.0, 25.0):
        drawn = section(Size(622, 32), inner, 401)
        length = sum(
            math.dist(a, b) for a, b in zip(drawn.outline, drawn.outline[1:], strict=False)
        )
        half = math.asin(measuring_rim(32) / 32)
        assert length == pytest.approx(32 * (math.pi - half), rel=0.001)
        assert drawn.outline[0] == pytest.approx((-inner / 2, 0), abs=0.01)
        assert max(y for _, y in drawn.outline) == pytest.approx(drawn.tyre_height)
        assert 2 * max(x for x, _ in drawn.outline) == pytest.approx(drawn.tyre_width, rel=0.001)


def test_a_very_wide_rim_flattens_the_tyre() -> None:
    drawn = section(Size(622, 28), 55)
    assert drawn.tyre_width == pytest.approx(55, abs=0.1)
    assert drawn.tyre_height < section(Size(622, 28), 18.2).tyre_height


def test_rims_that_no_tyre_spans_are_errors() -> None:
    with pytest.raises(InputError, match="casing"):
        section(Size(622, 20), 60)
    with pytest.raises(InputError, match="beyond any rim"):
        section_width(Size(622, 28), 5)
    with pytest.raises(InputError, match="28-622"):
        section(Size(622), 19)
