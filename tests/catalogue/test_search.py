import pytest

from reader.catalogue import (
    Findings,
    PhotoRef,
    Place,
    Share,
    add_part,
    ask_for,
    change_part,
    done_with,
    fits,
    for_wheels,
    gaps,
    pairs,
    search,
    tubes_for,
)
from reader.errors import InputError
from reader.fit.grades import Grade
from reader.fit.mount import fit
from reader.fit.parts import Rim, RimKind, Tyre
from reader.fit.tube import Suits
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


def add(catalogue, bsd, width, kind="tyre", bin="A", **more):
    return add_part(catalogue, None, (), Place(bin), size=Size(bsd, width), kind=kind, **more)


def read(catalogue, name, *shares, verdict="likely", kind="tyre"):
    made = tuple(Share(kind, bsd, width, p) for width, bsd, p in shares)
    photo = PhotoRef(f"{name:0>40}", f"/{name}", name)
    return add_part(catalogue, Findings(verdict, kind, made, "{}"), [photo])


def test_by_size_place_and_text(catalogue) -> None:
    one = add(catalogue, 622, 28, note="Winter 100% tyre")
    two = add(catalogue, 622, 37, bin="B")
    add(catalogue, 507, 47, bin="B")
    assert [part.code for part in search(catalogue, bsd=622, width=(25, 30))] == [one.code]
    assert [part.code for part in search(catalogue, bin="B", bsd=622)] == [two.code]
    assert [part.code for part in search(catalogue, text="winter 100%")] == [one.code]
    assert search(catalogue, text="wint_r") == [], "no wildcards from outside"
    assert len(search(catalogue, limit=2)) == 2 and len(search(catalogue, offset=2)) == 1
    change_part(catalogue, one.code, quantity=0)
    assert search(catalogue, text="winter") == []
    assert len(search(catalogue, text="winter", gone=True)) == 1


def test_what_fits_has_the_grades_of_the_tables(catalogue) -> None:
    rim = Rim(Size(622, 19), RimKind.CROCHET)
    for width in (23, 28, 37, 50, 62):
        add(catalogue, 622, width)
    add(catalogue, 630, 32)
    add(catalogue, 622, 17, kind="rim")
    found = {one.part.width: one.fit.grade for one in fits(catalogue, rim, TABLES)}
    expected = {w: fit(Tyre(Size(622, w)), rim, TABLES).grade for w in (23, 28, 37, 50, 62)}
    bad = (Grade.UNLISTED, Grade.NEVER)
    assert found == {width: word for width, word in expected.items() if word not in bad}
    # Measuring rims of 2020: 25 to 28 on 19; ETRTO 2006 as compiled by a newsgroup: 28 to 62.
    assert found[28] is Grade.CURRENT and found[62] is Grade.OLDER and 23 not in found


def test_best_grade_comes_first_and_rims_are_found_too(catalogue) -> None:
    add(catalogue, 622, 62)
    add(catalogue, 622, 37)
    grades = [one.fit.grade for one in fits(catalogue, Rim(Size(622, 19)), TABLES)]
    assert grades[0] is Grade.OLDER
    rim = add(catalogue, 622, 19, kind="rim", rim_kind="C")
    found = fits(catalogue, Tyre(Size(622, 37)), TABLES)
    assert [one.part.code for one in found] == [rim.code]


def test_unsure_part_never_fits_for_sure(catalogue) -> None:
    read(catalogue, "1", (37, 622, 0.7), (37, 590, 0.3))
    (found,) = fits(catalogue, Rim(Size(622, 19)), TABLES)
    assert (found.fit.grade, found.fit.if_right) == (Grade.CANT_TELL, Grade.OLDER)
    assert found.fit.chance == pytest.approx(0.7)
    # It may be the other size as well, and shows there too, no more surely.
    (other,) = fits(catalogue, Rim(Size(590, 19)), TABLES)
    assert other.fit.grade is Grade.CANT_TELL and other.fit.chance == pytest.approx(0.3)


def test_only_in_that_bin(catalogue) -> None:
    add(catalogue, 622, 37, bin="A")
    add(catalogue, 622, 37, bin="B")
    found = fits(catalogue, Rim(Size(622, 19)), TABLES, bin="B")
    assert [one.part.bin for one in found] == ["B"]


def test_tubes_by_their_label(catalogue) -> None:
    tube = add(catalogue, 559, 37, kind="tube", tube_label="37/57-559")
    add(catalogue, 622, 28, kind="tube", tube_label="28/47-622/635")
    add(catalogue, 622, 28, kind="tube")
    found = tubes_for(catalogue, Size(559, 50))
    assert [(one.part.code, one.verdict.grade) for one in found] == [(tube.code, Suits.YES)]
    assert len(tubes_for(catalogue, Size(635, 40))) == 1


def test_pairs_use_each_piece_once(catalogue) -> None:
    add(catalogue, 622, 19, kind="rim", quantity=2)
    add(catalogue, 622, 37, quantity=3)
    add(catalogue, 590, 37)
    made, alone = pairs(catalogue, TABLES)
    assert [(one.rim.width, one.tyre.width, one.grade) for one in made] == [
        (19, 37, Grade.OLDER),
        (19, 37, Grade.OLDER),
    ]
    assert {(one.kind, str(one.size), one.pieces) for one in alone} == {
        ("tyre", "37-622", 1),
        ("tyre", "37-590", 1),
    }
    assert set(for_wheels(catalogue, TABLES)) == {
        ("rim", Size(622, 37), 1),
        ("rim", Size(590, 37), 1),
    }


def test_choosy_rim_goes_first(catalogue) -> None:
    # 13C takes 18 to 25 mm, 19C 28 to 62 mm, 15C 23 to 32 mm (ETRTO 2006): if 15C took the 25,
    # nothing would be left for 13C.
    add(catalogue, 622, 15, kind="rim")
    add(catalogue, 622, 13, kind="rim")
    add(catalogue, 622, 25)
    add(catalogue, 622, 28)
    made, alone = pairs(catalogue, TABLES)
    assert {(one.rim.width, one.tyre.width) for one in made} == {(13, 25), (15, 28)}
    assert alone == []


def test_pair_of_unsure_parts_must_be_read_again(catalogue) -> None:
    read(catalogue, "1", (37, 622, 0.8))
    add(catalogue, 622, 19, kind="rim")
    ((pair,), _) = pairs(catalogue, TABLES)
    assert (pair.grade, pair.if_right) == (Grade.CANT_TELL, Grade.OLDER)
    assert pair.chance == pytest.approx(0.8)


def test_wishes_and_how_likely_they_can_be_served(catalogue) -> None:
    add(catalogue, 507, 47)
    read(catalogue, "1", (47, 507, 0.5), (47, 406, 0.5))
    number = ask_for(catalogue, "tyre", 507, (47, 47), 2, "trailer")
    ask_for(catalogue, "tyre", 622)
    first, second = gaps(catalogue)
    assert (second.wish.number, second.expected, second.chance) == (number, 1.5, 0.5)
    assert (str(first.wish), first.expected, first.chance) == ("tyre 622 mm, any width", 0, 0)
    done_with(catalogue, number)
    assert len(gaps(catalogue)) == 1
    with pytest.raises(InputError, match="nothing is asked for"):
        done_with(catalogue, number)


@pytest.mark.parametrize("wish", [("wheel", 622), ("tyre", 26), ("tyre", 622, (37, 37), 0)])
def test_wishes_that_make_no_sense(file_catalogue, wish) -> None:
    with pytest.raises(InputError):
        ask_for(file_catalogue, *wish)


def test_edge_of_a_rim_can_bar_what_its_width_allows(catalogue) -> None:
    add(catalogue, 622, 23, kind="rim", rim_kind="TSS")
    hooked = add(catalogue, 622, 23, kind="rim", rim_kind="TC")
    found = fits(catalogue, Tyre(Size(622, 40), tubeless=False), TABLES)
    assert [one.part.code for one in found] == [hooked.code]
    open_question = fits(catalogue, Tyre(Size(622, 40)), TABLES)
    assert {one.part.rim_kind: one.fit.grade for one in open_question} == {
        "TC": Grade.CURRENT,
        "TSS": Grade.CANT_TELL,
    }


def test_a_hub_takes_rims_with_as_many_holes(catalogue):
    """Each spoke of a hub needs a hole of the rim (common practice, no source)."""
    tables = load_tables()
    for holes, bin in ((32, "A"), (36, "B"), (None, "C")):
        said = {"holes": holes} if holes else {}
        add_part(catalogue, size=Size(622, 19), kind="rim", place=Place(bin), **said)
    add_part(catalogue, size=Size(622, 37), kind="tyre", place=Place("D"), quantity=3)
    tyre = Tyre(Size(622, 37))
    assert {f.part.bin for f in fits(catalogue, tyre, tables)} == {"A", "B", "C"}
    assert {f.part.bin for f in fits(catalogue, tyre, tables, hub=36)} == {"B", "C"}
    made, _ = pairs(catalogue, tables, hub=32)
    assert {pair.rim.bin for pair in made} == {"A", "C"}
