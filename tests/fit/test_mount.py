"""Fit: diameters, edges, every row of the width tables, hookless rules, pressure limits."""

from __future__ import annotations

import pytest
from mounted import PROPER, TABLES, grade, word

from reader.errors import InputError
from reader.fit.editions import Word
from reader.fit.grades import GRADES, Grade, worst
from reader.fit.mount import fit
from reader.fit.parts import Rim, RimKind, Tyre, parse_range
from reader.fit.widths import HAPPENS_NARROW, HAPPENS_WIDE, NOT_HELD
from reader.records import Size

# The table of a recumbent newsgroup, ETRTO state 2006 (source DER), row by row, and the older one.
ETRTO_2006 = [(13, 18, 25), (15, 23, 32), (17, 25, 50), (19, 28, 62), (21, 35, 62), (23, 37, 62),
              (25, 44, 62), (27, 47, 62), (29, 54, 62)]  # fmt: skip
BEFORE_2006 = [(13, 18, 25), (15, 23, 32), (17, 25, 37), (19, 28, 47), (21, 35, 50), (23, 37, 50),
               (25, 44, 60)]  # fmt: skip
OPEN = {"ETRTO 2006": 62, "ETRTO before 2006": 60}  # the widest column: wider was not barred


@pytest.mark.parametrize(
    ("edition", "inner", "low", "high"),
    [("ETRTO 2006", *row) for row in ETRTO_2006]
    + [("ETRTO before 2006", *row) for row in BEFORE_2006],
)
def test_width_tables_row_by_row(edition: str, inner: int, low: int, high: int) -> None:
    for width in range(18, 66):
        found = word(width, inner, edition)
        beyond = high == OPEN[edition] and width > high
        outside = Word.SILENT if beyond else Word.FORBIDS
        assert found.word is (Word.ALLOWS if low <= width <= high else outside)
        assert found.stops is beyond
        assert (found.tyre_from, found.tyre_to) == (low, high)


# ETRTO 2020 as reprinted on a tyre maker's page (source VIT): section of the tyre, measuring rim.
ETRTO_2020 = [(18, 21, 15), (22, 24, 17), (25, 28, 19), (29, 34, 21), (35, 46, 23), (47, 57, 25),
              (58, 65, 30), (66, 71, 35), (72, 83, 45), (84, 113, 76), (114, 132, 94)]  # fmt: skip


@pytest.mark.parametrize(("low", "high", "rim"), ETRTO_2020)
def test_measuring_rims_of_2020_row_by_row(low: int, high: int, rim: int) -> None:
    for width in range(low, high + 1):
        assert grade(width, 622, rim).grade is Grade.CURRENT
        assert word(width, rim, "ETRTO 2020").word is Word.ALLOWS
    for width in (low - 1, high + 1):  # it speaks of no other rim, and so bars none
        assert word(width, rim, "ETRTO 2020").word is Word.SILENT


def test_a_pair_of_today_is_not_refused_by_a_table_of_2006() -> None:
    """25-622 on 19 mm: measured there since 2020 (VIT), 28 and wider in 2006 (DER)."""
    found = grade(25, 622, 19)
    assert found.grade is Grade.CURRENT
    assert found.reasons[0].startswith("ETRTO 2020 measures tyres of 25 to 28 mm")
    assert "ETRTO 2006 does not allow it" in found.reasons[1]
    assert HAPPENS_NARROW not in found.cautions and NOT_HELD not in found.cautions


def test_the_newest_of_the_old_decides_and_an_older_word_stands_beneath() -> None:
    both, alone = grade(28, 622, 17), grade(50, 622, 17)
    assert both.grade is alone.grade is Grade.OLDER
    assert "ETRTO 2006 allows it: 25 to 50 mm" in alone.reasons[0]
    assert "before 2006 does not allow it: 25 to 37 mm" in alone.reasons[1]
    assert NOT_HELD in alone.cautions
    assert grade(50, 622, 27).grade is Grade.OLDER  # only the 2006 edition has that row


@pytest.mark.parametrize(
    ("width", "bsd", "inner", "kind", "who"),
    [  # a maker's word against an older table is no agreement
        (25, 622, 21, "C", "a component maker in 2022"),  # CYB: 25 to 32 on its 21 mm rims
        (28, 622, 21, "TSS", "hookless rule, 28 mm tyre"),
        (28, 622, 23, "TSS", "hookless rule, 28 mm tyre"),  # TR: a 28 needs a rim of at most 23
        (25, 540, 20, "C", "wheelchair trade"),  # EXP: 24 x 1 on a 540 x 20 rim
    ],
)
def test_a_makers_word_alone_leaves_the_tables_in_disagreement(
    width: int, bsd: int, inner: int, kind: str, who: str
) -> None:
    found = grade(width, bsd, inner, kind=kind, tubeless=True, hookless=True)
    assert found.grade is Grade.DISAGREE
    assert found.reasons[0].startswith(who)


def test_the_later_edition_on_38_622() -> None:
    """38-622 on 17 to 27 mm rims (source STD) against 17 to 23 in 2006: both are shown."""
    for inner in (17, 19, 21, 25, 27):
        assert grade(38, 622, inner).grade is Grade.OLDER
    assert grade(38, 622, 23).grade is Grade.CURRENT  # 35 to 46 are measured on 23 since 2020
    assert word(38, 29, "ETRTO after 2006, 38-622").word is Word.SILENT
    assert word(40, 25, "ETRTO after 2006, 38-622").word is Word.SILENT
    assert word(38, 25, "ETRTO after 2006, 38-622").range_text == "38 mm only"
    assert word(38, 29, "ETRTO after 2006, 38-622").range_text == "not listed"


@pytest.mark.parametrize("width", [40, 41, 42, 43])
def test_a_hole_in_a_row_is_told_as_a_hole(width: int) -> None:
    found = grade(width, 622, 25)
    assert found.grade is Grade.UNLISTED
    assert "a hole in the tables: 38 mm and 44 mm are allowed on this rim" in found.reasons


def test_15_mm_takes_23_to_32_by_the_quoted_manual() -> None:
    """Source ROAD."""
    assert word(23, 15, "ETRTO as quoted, undated").range_text == "23 to 32 mm"


def test_a_rim_between_rows_takes_what_both_neighbours_take() -> None:
    found = grade(28, 622, 18)
    assert found.grade is Grade.OLDER  # 17 by the table of 2006, 19 by that of 2020
    assert "17 and 19 mm both take it" in found.reasons[0]
    assert grade(28, 622, 20).grade is Grade.DISAGREE  # as 21
    assert grade(60, 622, 14).grade is Grade.UNLISTED
    differ = grade(28, 622, 16)
    assert differ.grade is Grade.OLDER
    differ = grade(34, 622, 16)  # 15 takes up to 32, 17 from 25
    assert differ.grade is Grade.CANT_TELL and "differ" in differ.reasons[0]


def test_extremes_say_what_happens_to_the_rider() -> None:
    wide, narrow = grade(60, 559, 13), grade(18, 622, 25)
    assert (wide.grade, narrow.grade) == (Grade.UNLISTED, Grade.UNLISTED)
    assert HAPPENS_WIDE in wide.cautions and "rider falls" in HAPPENS_WIDE
    assert HAPPENS_NARROW in narrow.cautions and "rider falls" in HAPPENS_NARROW


def test_beyond_the_tables_nothing_is_promised() -> None:
    stops = grade(65, 622, 29)
    assert stops.grade is Grade.CANT_TELL
    assert any("stops at 62 mm" in reason for reason in stops.reasons)
    assert grade(65, 622, 19).grade is Grade.UNLISTED  # before 2006 up to 47
    assert grade(57, 622, 30).grade is Grade.CANT_TELL
    assert grade(75, 622, 60).grade is Grade.UNLISTED
    assert grade(57, 584, 50).grade is Grade.UNLISTED
    assert grade(None, 622, 19).grade is Grade.CANT_TELL
    assert grade(28, 622, None).grade is Grade.CANT_TELL


def test_a_trade_pages_word_without_any_table_is_no_answer() -> None:
    found = grade(28, 622, 13, kind="TSS", **PROPER)
    assert found.grade is Grade.DISAGREE  # the rule for 28 mm against 18 to 25 in 2006


@pytest.mark.parametrize(
    ("tyres", "rims", "wanted"),
    [
        ((25, 47), None, Grade.MAKER),
        (None, (19, 30), Grade.MAKER),
        ((25, 47), (19, 30), Grade.MAKER),
        ((29, 47), None, Grade.NEVER),
        ((25, 47), (19, 23), Grade.NEVER),
    ],
)
def test_the_makers_own_range_overrules_every_table(tyres, rims, wanted: Grade) -> None:
    """28-622 on 25 mm: no table allows it, a maker may."""
    found = fit(Tyre(Size(622, 28), rim_range=rims), Rim(Size(622, 25), tyre_range=tyres), TABLES)
    assert found.grade is wanted
    assert "overrules every table" in found.reasons[0]
    assert found.reasons[1].startswith("overruled: ETRTO 2006 does not allow it")


def test_makers_ranges_as_typed() -> None:
    assert parse_range("25-47") == parse_range("25 to 47 mm") == (25, 47)
    for text in ("47-25", "wide", "5-9"):
        with pytest.raises(InputError, match="for example"):
            parse_range(text)
    with pytest.raises(InputError, match="no range"):
        Rim(Size(622, 19), tyre_range=(50, 20))


def test_open_questions_stand_beside_the_grade() -> None:
    assert any("hooked" in check for check in grade(28, 622, 17, kind="").checks)
    assert any("does not fold" in check for check in grade(32, 590, 19, kind="SS").checks)
    assert not grade(32, 590, 19, kind="SS", folding=False).checks
    assert any("use a tube" in check for check in grade(28, 622, 17, tubeless=True).checks)
    assert any("from memory" in check for check in grade(37, 484, 19).checks)
    assert any("no table knows" in check for check in grade(37, 543, 19).checks)


def test_grades_order_from_best_to_worst() -> None:
    assert worst(Grade.CURRENT, Grade.CANT_TELL, Grade.OLDER) is Grade.CANT_TELL
    assert worst(Grade.NEVER, Grade.UNLISTED) is Grade.NEVER
    assert {one.sign for one in GRADES} == {"good", "check", "ask", "bad"}


def test_every_verdict_carries_the_usual_cautions() -> None:
    for found in (grade(28, 622, 17), grade(28, 622, 17, 559), grade(60, 559, 13)):
        assert any("makers" in caution for caution in found.cautions)
        assert any("lower of the two limits" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Tyre(Size(0, 0)),
        lambda: Tyre(Size(622, 622)),
        lambda: Rim(Size(9999, 19)),
        lambda: Tyre(Size(622, 28), max_kpa=-100),
        lambda: Tyre(Size(622, 28), max_kpa=float("nan")),
        lambda: Tyre(Size(622, 28), min_kpa=600, max_kpa=300),
        lambda: Rim(Size(622, 19), max_kpa=99999),
    ],
)
def test_nonsense_gets_an_example(make) -> None:
    with pytest.raises(InputError, match="for example"):
        make()


def test_a_rim_prints_as_it_is_marked() -> None:
    assert str(Rim(Size(622, 19), RimKind.CROCHET)) == "622x19C"
    assert str(Rim(Size(622))) == "622x?"
