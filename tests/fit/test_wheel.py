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
    """Lists QT, WL and RL: within 2.5 % from 559 mm up and 5 % below."""
    found = rolling(Size(row.bsd, row.width), TABLES)
    assert found.unloaded.value == pytest.approx(row.mm, rel=list_spread(row.bsd))
    assert found.unloaded.low <= row.mm <= found.unloaded.high
    assert row in found.published
    assert found.computer.low <= row.mm <= found.computer.high


def test_a_ridden_wheel_rolls_less_far() -> None:
    """Source LOAD: one 700x23 tyre 2105 mm unloaded, 2080 mm ridden."""
    found = rolling(Size(622, 23), TABLES)
    assert found.ridden.value / found.unloaded.value == pytest.approx(2080 / 2105, abs=0.001)


def test_an_unlisted_size_rests_on_the_estimate() -> None:
    found = rolling(Size(540, 37), TABLES)
    assert not found.published
    assert found.computer == found.unloaded


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
    assert smaller.distance_share == pytest.approx((559 + 64) / (622 + 56) - 1)
    assert "easier" in smaller.words and "too much" in smaller.words
    larger = swap(Size(559, 32), Size(622, 28), TABLES)
    assert "harder" in larger.words and "too little" in larger.words
    assert larger.radius_mm == pytest.approx(27.5)
    assert "stays" in swap(Size(622, 28), Size(622, 28), TABLES).words


def test_development_is_circumference_times_ratio() -> None:
    found = development(Size(622, 28), 46, 23, TABLES)
    assert found.value == pytest.approx(2 * 2.130, rel=0.001)
    with pytest.raises(InputError, match="46 and 18"):
        development(Size(622, 28), 0, 18, TABLES)


@pytest.mark.parametrize("job", [outer_diameter, clearance, envelope])
def test_a_width_is_needed(job) -> None:
    with pytest.raises(InputError, match="28-622"):
        job(Size(622))


def test_measuring_rims_of_the_older_standard() -> None:
    """Source W: 65 % of the width below 30 mm, 55 % above."""
    assert measuring_rim(20) == 13
    assert measuring_rim(40) == 22


@pytest.mark.parametrize("width", [23, 28, 37, 47, 60])
def test_section_width_on_its_measuring_rim_is_nominal(width: float) -> None:
    assert section_width(Size(622, width), measuring_rim(width)).value == pytest.approx(width)


@pytest.mark.parametrize("width", [25, 32, 40, 50])
def test_the_remembered_growth_agrees_with_an_arc_of_constant_length(width: float) -> None:
    """0.4 mm per mm of rim (from memory) against plane geometry: within 0.15."""
    rim = measuring_rim(width)
    grown = 2 * section_width(Size(622, width), rim + 4).value - (width + 0.4 * 4)
    assert (grown - width) / 4 == pytest.approx(0.4, abs=0.15)


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
