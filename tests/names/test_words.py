"""Words, trade codes and other ways in which people type a size."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader.errors import InputError
from reader.names.meanings import meanings
from reader.names.typed import parse
from reader.names.verdicts import Trust
from reader.tables import load_tables

TABLES = load_tables()


@pytest.mark.parametrize(
    ("text", "bsd"),
    [
        ("29er", 622),  # GER, BHG
        ("29 inch", 622),
        ("29+", 622),  # from memory
        ("29 plus", 622),
        ("27.5+", 584),  # from memory
        ("650b+", 584),  # from memory
        ("fat", 559),  # FR2
        ("fat bike", 559),
        ("650B", 584),  # LEC, BFX and others
        ("700c", 622),
        ("E.A.3", 590),  # CR1, CCM
        ("EA3", 590),
        ("e.a.1", 597),  # CR2, quoting a handbook of 1936
        ("F.13", 622),  # CCM: 28 x 1 1/2 in Canada
        ("26 HE", 559),  # 2FU
        ("26 H/E", 559),
        ("20 W/O", 451),  # JP1
        ("27 WO", 630),  # JP2
        ("26 S-6", 597),  # GD, BSV
        ("S-6 26", 597),
        ('26" S-7', 571),  # GD, BTD, CAB
        ("S-7 24 inch", 520),  # GD
        ("26 x 1 3/8 S-6", 597),
        ("E.A.3 26 x 1⅜", 590),
        ("28 x 1 1/2 F.13", 622),
        ("26 in by 1 3/8 inches", 590),
        ('26" x 1,75"', 559),
        ("700 mm x 28 mm C", 622),
        ("700C x 28mm", 622),
        ("28 x 1⅝ x 1⅜", 622),
        ("12½ x 2¼", 203),
        ("26–1.75", 0),
        ("700-35C", 622),
        ("35-700", 0),
        ("650", 584),
    ],
)
def test_words_and_codes_name_a_diameter(text: str, bsd: int) -> None:
    if not bsd:
        with pytest.raises(InputError):
            parse(text, TABLES)
        return
    assert parse(text, TABLES).diameters[0][0] == bsd


@pytest.mark.parametrize("text", ["S-6", "s6", "S-7", "S-5"])
def test_a_rim_profile_alone_leaves_the_diameter_open(text: str) -> None:
    found = parse(text, TABLES)
    assert found.profile and found.verdict is Trust.CANT_TELL
    assert len(found.diameters) > 1


def test_two_codes_of_japan_are_told_as_two() -> None:
    """26 W/O: one Japanese page means 590 (JP1), another 584 (2FU)."""
    assert set(dict(parse("26 W/O", TABLES).diameters)) == {584, 590}


@pytest.mark.parametrize("text", ["28 tubular", "700C tub", "27 inch sew-ups"])
def test_a_tubular_has_no_bead_seat(text: str) -> None:
    with pytest.raises(InputError, match="no bead seat") as caught:
        parse(text, TABLES)
    assert "700C tubulars share one rim" in caught.value.remedy  # PBK


@pytest.mark.parametrize("text", ["2.25-16", "205/55 R16", "ART. NO. 123456789"])
def test_what_is_no_bicycle_part_is_said_to_be_none(text: str) -> None:
    with pytest.raises(InputError, match="no bicycle size"):
        parse(text, TABLES)


def test_words_that_only_stand_beside_a_number_mean_nothing() -> None:
    for text in ("26 carbon", "large 26 x", "hello"):
        with pytest.raises(InputError):
            parse(text, TABLES)


def test_a_bare_french_number_is_no_french_size() -> None:
    numbers = {"diameter_mm": 700, "width_mm": 0, "letter": ""}
    assert meanings("french", numbers, TABLES) == ()


def test_the_likeliest_are_kept_until_they_hold_nearly_all() -> None:
    found = parse("28 x 1 3/8", TABLES)
    assert len(found.meanings) == 2  # some say 622 for short, which no table does
    assert [one.size.bsd for one in found.likely()] == [642]


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("26 x 1.5", "26 x 1 1/2"),  # 559 and 584 do not interchange: source SB
        ("26 x 1 1/2", "26 x 1.50"),
        ("26 x 1 3/4", "26 x 1.75"),
        ("26 x 1", "26 x 1.00"),
        ("26 x 1 3/8", "26 x 1.375"),
        ("28 x 1 5/8 x 1 3/8", ""),
        ("14 x 1.90", ""),
        ("37-590", ""),
    ],
)
def test_the_same_value_in_the_other_writing_is_told_as_another_size(text, other) -> None:
    assert parse(text, TABLES).suggestions == ((other,) if other else ())


@given(st.text(alphabet="0123456789 xX×-/.,\"'ABCDSTEH½⅜()+", max_size=30))
def test_any_text_is_a_size_or_a_clear_error(text: str) -> None:
    try:
        found = parse(text, TABLES)
    except InputError as error:
        assert error.message and error.remedy
        return
    assert found.meanings
    assert 0 < sum(one.share for one in found.meanings) < 1.001
    assert [one.share for one in found.meanings] == sorted(
        (one.share for one in found.meanings), reverse=True
    )
