"""What bars a tyre from a rim: diameters, edges, the hookless rules, pressures."""

from __future__ import annotations

import pytest
from mounted import PROPER, grade, word

from reader.fit.grades import Grade
from reader.fit.parts import Edge
from reader.fit.widths import sentence


@pytest.mark.parametrize(
    ("one", "other"), [(590, 597), (630, 635), (540, 541), (584, 587), (622, 630), (489, 490)]
)
def test_near_misses_are_never_and_named(one: int, other: int) -> None:
    """No near-fit rule exists in any source; these pairs are confused at the bench."""
    for tyre, rim in ((one, other), (other, one)):
        found = grade(37, tyre, 19, rim)
        assert found.grade is Grade.NEVER
        assert any("mix-up" in reason for reason in found.reasons)
        assert found.pressure is None


def test_any_other_difference_is_never_too() -> None:
    found = grade(28, 622, 17, 559)
    assert found.grade is Grade.NEVER
    assert not any("mix-up" in reason for reason in found.reasons)
    assert any("rider falls" in reason for reason in found.reasons)


@pytest.mark.parametrize(
    ("kind", "marks"),
    [
        ("HB", {}),
        ("C", {"edge": Edge.BEADED}),
        ("TUBULAR", {}),
        ("C", {"edge": Edge.TUBULAR}),
        ("SS", {"folding": True}),  # ISO 5775-2:2015: beads that do not fold only (source I2)
        ("TSS", {"tubeless": False}),
        ("TSS", {"tubeless": True, "hookless": False}),
    ],
)
def test_edges_never_mix(kind: str, marks: dict) -> None:
    assert grade(28, 622, 17, kind=kind, **marks).grade is Grade.NEVER


def test_edges_that_no_table_covers_are_left_open() -> None:
    assert grade(28, 622, 17, kind="TUBULAR", edge=Edge.TUBULAR).grade is Grade.CANT_TELL
    assert grade(28, 270, 20, kind="HB", edge=Edge.BEADED).grade is Grade.CANT_TELL
    assert grade(28, 270, 20, kind="", edge=Edge.BEADED).grade is Grade.CANT_TELL


# What workshop sources say of trying it: pair, a word of each opinion, its source.
@pytest.mark.parametrize(
    ("pair", "said"),
    [
        ((540, 541), "calls them interchangeable"),  # BFX
        ((540, 541), "never interchange"),  # DBB
        ((540, 541), "opinions differ"),
        ((559, 571), "does not fit a 571 rim"),  # CAB
        ((584, 590), "may blow off"),  # VTC, weak
        ((590, 597), "almost impossible to take off"),  # BHG, BSV, FHB
        ((597, 599), "no longer made"),  # BSV
        ((590, 599), "must not go on a 599"),  # BSV
        ((622, 630), "never sat right"),  # CUK2, BNA, BHG
        ((622, 635), "no way"),  # CCM
        ((630, 642), "doubt it"),  # BNA
        ((440, 451), "could blow off"),  # BR1
        ((252, 254), "not offered"),  # WKE
    ],
)
def test_what_is_said_of_near_pairs(pair: tuple[int, int], said: str) -> None:
    for tyre, rim in (pair, pair[::-1]):
        found = grade(37, tyre, 19, rim)
        assert found.grade is Grade.NEVER
        assert any(said in reason for reason in found.reasons)


# Hookless: 29 at least on 25 mm inside (ISO 5775-1:2023, sources RCC and CK); a 28 wants a rim of
# at most 23 (TR); what older tables call too wide no least width vouches for.
@pytest.mark.parametrize(
    ("width", "inner", "wanted"),
    [
        (28, 24, Grade.UNLISTED),
        (28, 25, Grade.UNLISTED),
        (29, 25, Grade.CURRENT),
        (30, 25, Grade.CURRENT),
        (25, 23, Grade.UNLISTED),
        (40, 23, Grade.CURRENT),
        (25, 17, Grade.CANT_TELL),  # only tables of hooked rims have it
        (50, 23, Grade.CANT_TELL),
        (60, 23, Grade.CANT_TELL),  # allowed in 2006, not before: neither counts here
        (28, 30, Grade.UNLISTED),
        (40, 13, Grade.UNLISTED),
        (100, 25, Grade.CANT_TELL),
    ],
)
def test_hookless_rules(width: float, inner: float, wanted: Grade) -> None:
    assert grade(width, 622, inner, kind="TSS", **PROPER).grade is wanted


def test_28_on_25_hookless_is_refused_in_the_first_line() -> None:
    found = grade(28, 622, 25, kind="TSS", **PROPER)
    assert found.reasons[0] == "hookless, 25 mm inside, wants 29 mm or wider (ISO 5775-1:2023)"
    press = word(28, 25, "hookless minimum in a cycling weekly", kind="TSS")
    assert press.range_text == "30 mm or wider" and not press.decides  # told, not counted (CW)
    assert "told, not counted" in sentence(press, found.tyre, found.rim)
    assert found.pressure is not None and found.pressure.high is not None
    assert found.pressure.high.kpa == 500  # the cap of 5 bar (CK)


def test_hookless_without_word_from_the_tyre_is_left_open() -> None:
    found = grade(40, 622, 23, kind="TSS")
    assert found.grade is Grade.CANT_TELL
    assert found.reasons[0].startswith("hookless: not said")
    assert len(found.checks) == 2
    assert grade(28, 622, 25, kind="TSS").grade is Grade.UNLISTED


def test_no_pressure_for_both_is_never() -> None:
    found = grade(25, 622, 17, kind="TSS", min_kpa=600, max_kpa=800, **PROPER)
    assert found.grade is Grade.NEVER
    assert "no pressure suits both" in found.reasons[0]
