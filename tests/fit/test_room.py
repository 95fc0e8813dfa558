"""The largest tyre that a frame takes, against plain arithmetic on widths and gaps."""

from __future__ import annotations

import pytest

from reader.errors import InputError
from reader.fit.grades import Grade
from reader.fit.parts import Rim, RimKind
from reader.fit.room import Opening, largest, openings
from reader.fit.section import section_width
from reader.fit.wheel import envelope
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


def test_the_tightest_place_decides() -> None:
    passed = openings(42, 40, 60)
    free = [(one.name, one.free) for one in passed]
    assert free == [("fork", 30), ("stays", 28), ("mudguard", 50)]
    assert largest(passed, TABLES, 622).tightest.name == "stays"
    assert largest(openings(60, None, 45), TABLES, 622).tightest == Opening("mudguard", 45, 5)


def test_the_upper_end_of_the_error_bar_keeps_the_gap() -> None:
    """On 19 mm, the rim on which 25 to 28 mm are measured since 2020 (VIT): 27 may be 28 wide."""
    found = largest(openings(None, 40, None), TABLES, 622, Rim(Size(622, 19)))
    assert found.surely is not None and found.surely.size == Size(622, 27)
    assert found.surely.width.high <= 28 < section_width(Size(622, 28), 19).high
    assert found.perhaps is not None and found.perhaps.width.low <= 28
    assert found.surely.grade is Grade.CURRENT


def test_a_tyre_grows_with_its_rim() -> None:
    passed = openings(56, None, None)
    narrow, wide = (largest(passed, TABLES, 622, Rim(Size(622, inner))) for inner in (19, 23))
    assert narrow.surely is not None and wide.surely is not None
    assert (narrow.surely.size.width or 0) > (wide.surely.size.width or 0)
    assert narrow.surely.width.high <= 44 and wide.surely.width.high <= 44


def test_what_the_rim_does_not_take_is_left_out() -> None:
    hole = largest(openings(56, None, None), TABLES, 622, Rim(Size(622, 25), RimKind.CROCHET))
    assert {one.size.width for one in hole.candidates} & {40, 42, 43} == set()
    known = Rim(Size(622, 25), RimKind.CROCHET, tyre_range=(28, 42))
    by_maker = largest(openings(56, None, None), TABLES, 622, known)
    assert by_maker.surely is not None and by_maker.surely.grade is Grade.MAKER
    assert max(one.size.width or 0 for one in by_maker.candidates) <= 42


def test_height_counts_against_the_envelope_of_iso() -> None:
    """Source W: section height = width, so 40-622 stands 351 mm from the axle, and air above."""
    assert envelope(Size(622, 40)) / 2 == 351
    roomy = openings(80, None, None)
    low = largest(roomy, TABLES, 622, height=357)
    assert low.surely is not None and low.surely.size.width == 40
    tight = largest(roomy, TABLES, 622, height=320)
    assert tight.surely is None and tight.perhaps is None


def test_without_a_rim_the_bar_is_3_mm() -> None:
    found = largest(openings(40, None, None), TABLES, 622)
    assert found.surely is not None and found.surely.size.width == 25  # 25 + 3 = 28
    assert found.surely.grade is None


def test_nothing_as_wide_as_its_rim() -> None:
    found = largest(openings(35, None, None), TABLES, 622, Rim(Size(622, 30)))
    assert found.surely is None
    odd = Rim(Size(622, 30), tyre_range=(25, 60))  # a maker's slip: tyres narrower than the rim
    wide = largest(openings(90, None, None), TABLES, 622, odd)
    assert min(one.size.width or 0 for one in wide.candidates) > 30


@pytest.mark.parametrize(
    "make",
    [
        lambda: openings(None, None, None),
        lambda: openings(4, None, None),
        lambda: openings(40, None, None, gap=90),
        lambda: largest(openings(40, None, None), TABLES, 622, height=3),
    ],
)
def test_nonsense_says_what_to_measure(make) -> None:
    with pytest.raises(InputError, match="give|measure"):
        make()
