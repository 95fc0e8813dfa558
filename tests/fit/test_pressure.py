"""Pressure: units against pint, limits by table and the lower of tyre and rim."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader.errors import InputError
from reader.fit.parts import Rim, RimKind, Tyre
from reader.fit.pressure import (
    KPA,
    Bound,
    PressureRange,
    at_least,
    at_most,
    convert,
    parse_pressure,
    pressure_range,
)
from reader.fit.pressure_text import parse_printed
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()
UNITS = pint.UnitRegistry()
PINT = {"kpa": "kPa", "bar": "bar", "psi": "psi", "kg/cm2": "kgf/cm**2"}


@given(st.floats(20, 1600), st.sampled_from(sorted(KPA)))
def test_conversions_agree_with_pint(kpa: float, unit: str) -> None:
    theirs = (kpa * UNITS.kPa).to(PINT[unit]).magnitude
    assert convert(kpa, unit) == pytest.approx(theirs, rel=1e-9)


@given(st.floats(30, 200))
def test_psi_there_and_back(psi: float) -> None:
    text = f"{psi:.3f}"
    assert convert(parse_pressure(f"{text} psi"), "psi") == pytest.approx(float(text))


@pytest.mark.parametrize(
    ("text", "kpa"),
    [
        ("400 kPa", 400),  # ISO 5775-1's example, source W
        ("4.50 bar", 450),
        ("65 PSI", 448.16),
        ("65 P.S.I.", 448.16),
        ("65 lbs", 448.16),
        ("5 kg/cm²", 490.33),
        ("5 kgf/cm2", 490.33),
        ("5 at", 490.33),
        ("5,5bar", 550),
        ("3 bars", 300),
    ],
)
def test_texts(text: str, kpa: float) -> None:
    assert parse_pressure(text) == pytest.approx(kpa, abs=0.01)


def test_a_printed_pair_agrees_within_its_rounding() -> None:
    """A real spec line reads 4.50-6.50 bar (65-95 psi): rounded to 5 psi, so 4 % apart at most."""
    for bar, psi in (("4.50 bar", "65 psi"), ("6.50 bar", "95 psi")):
        assert parse_pressure(bar) == pytest.approx(parse_pressure(psi), rel=0.04)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("4.50-6.50 Bar (65-95 psi)", 450, 650),  # a tyre maker's line (source EX in the notes)
        ("INFLATE TO 30-50 PSI", 206.8, 344.7),  # e-bike pressure page
        ("2.2-4.3 bar 32-62 psi", 220.6, 427.5),  # a sports chain's help page, stricter of both
        ("MIN 30 PSI / MAX 50 PSI", 206.8, 344.7),
        ("INFLATE TO 400 kPa", None, 400),  # ISO 5775-1's example (source W)
        ("MAX PRESSURE 5 BAR/73 PSI", None, 500),  # a wheel maker's statement (source CK)
        ("65-95 PSI", 448.2, 655.0),
        ("INFLATE TO 50-85 PSI", 344.7, 586.1),
        ("MIN 2.0 BAR MAX 4.0 BAR (30-58 PSI)", 206.8, 399.9),
        ("INFLATE TO MIN. 3.0 BAR MAX 5.0 BAR", 300, 500),  # the rest from memory
        ("MIN 2.5 MAX 5 bar", 250, 500),
        ("MIN 3 bar", 300, None),
        ("INFLATE TO 50 LBS", None, 344.7),
        ("80 P.S.I.", None, 551.6),
    ],
)
def test_pressures_as_printed(text: str, low: float | None, high: float | None) -> None:
    found = parse_printed(text)
    assert found.low == (low if low is None else pytest.approx(low, abs=0.1))
    assert found.high == (high if high is None else pytest.approx(high, abs=0.1))
    assert not found.differs


def test_two_units_that_disagree_are_told_and_the_stricter_counts() -> None:
    """220-350 kPa (30-50 PSI): printed so by one page; 220 kPa are 32 psi, 6 % more than 30."""
    found = parse_printed("220-350 kPa (30-50 PSI)")
    assert "least pressure" in found.differs
    assert (round(found.low or 0), round(found.high or 0)) == (220, 345)
    both = parse_printed("3-5 bar (35-60 psi)")
    assert "least and the greatest" in both.differs


@pytest.mark.parametrize(
    "text",
    ["", "80", "inflate", "80 kg", "95-65 PSI", "80 psi 90 psi", "3 bar or 5", "9999 bar",
     "3 bar - 60 psi", "2-3 bar (50-70 psi)"],
)  # fmt: skip
def test_nonsense_prints(text: str) -> None:
    with pytest.raises(InputError, match="for example"):
        parse_printed(text)


@pytest.mark.parametrize(
    "text", ["", "80", "psi", "80 psi 5 bar", "-3 bar", "0 bar", "9999 bar", "80 mm", "1e3 psi"]
)
def test_nonsense_gets_an_example(text: str) -> None:
    with pytest.raises(InputError, match="80 psi"):
        parse_pressure(text)


def test_an_unknown_unit_lists_the_known() -> None:
    with pytest.raises(InputError, match="psi"):
        convert(500, "atm")


def test_limits_are_rounded_to_the_safe_side() -> None:
    assert at_most(499.9) == "499 kPa = 4.9 bar = 72 psi"
    assert at_least(300.1) == "301 kPa = 3.1 bar = 44 psi"


def limits(width, kind="C", rim_max=None, use="road", **marks) -> PressureRange:
    rim = Rim(Size(622, 19), RimKind(kind), rim_max)
    return pressure_range(Tyre(Size(622, width), **marks), rim, TABLES, use)


def bound(one: Bound | None) -> float:
    assert one is not None
    return one.kpa


def test_the_lower_of_tyre_and_rim_counts() -> None:
    assert bound(limits(28, max_kpa=800, rim_max=600).high) == 600
    assert bound(limits(28, max_kpa=500, rim_max=600).high) == 500
    assert limits(28).high is None


@pytest.mark.parametrize(
    ("width", "kpa"),
    # ISO 5775-1:2023 table 3 as transcribed (source HL3): maxima on straight-side rims
    [
        (18, 550),
        (24, 550),
        (25, 500),
        (29, 500),
        (30, 450),
        (34, 450),
        (35, 400),
        (39, 400),
        (40, 350),
        (44, 350),
        (45, 300),
        (54, 300),
        (55, 250),
        (64, 250),
        (65, 200),
        (74, 200),
        (75, 150),
        (84, 150),
    ],  # fmt: skip
)
def test_straight_side_maxima_row_by_row(width: int, kpa: float) -> None:
    assert bound(limits(width, "SS").high) == kpa
    assert bound(limits(width, "TSS").high) == min(kpa, 500)


def test_hookless_cap_is_5_bar_however_it_is_printed() -> None:
    """Source CK: 73 psi or 5 bar, the tyre's own limit if lower; 72 is printed too (CT)."""
    high = limits(23, "TSS").high
    assert at_most(bound(high)) == "500 kPa = 5.0 bar = 72 psi"
    assert len([one for one in limits(23, "TSS").bounds if "cap" in one.by]) == 1


def test_a_lone_transcription_is_marked_as_one() -> None:
    high = limits(40, "TSS").high
    assert high is not None and high.unverified and not high.from_memory


def test_a_width_between_rows_takes_the_stricter() -> None:
    assert bound(limits(44.5, "SS").high) == 300


def test_an_unknown_width_keeps_the_general_cap() -> None:
    assert bound(limits(None, "TSS").high) == 500


@pytest.mark.parametrize(
    ("width", "use", "kpa"),
    # older ISO 5775-1 (source W): 300 kPa up to 25 mm, 200 kPa above, 150 kPa off road
    [(25, "road", 300), (28, "road", 200), (57, "road", 200), (57, "off-road", 150)],
)
def test_recommended_minima(width: float, use: str, kpa: float) -> None:
    assert bound(limits(width, use=use).low) == kpa


def test_the_tables_minimum_yields_to_the_maximum_and_the_tyres_never() -> None:
    assert limits(57, rim_max=150).possible
    assert limits(57, rim_max=150).low is None
    assert not limits(57, rim_max=250, min_kpa=300).possible


def test_without_a_rim_the_tyre_alone_counts() -> None:
    found = pressure_range(Tyre(Size(622, 28), max_kpa=700), None, TABLES)
    assert bound(found.high) == 700
