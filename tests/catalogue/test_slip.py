"""The counter's slip: what stands on it, and that the printed page holds it."""

from __future__ import annotations

import re

import pypdfium2
import pytest

from reader.catalogue import Place, add_part, change_part, fits, open_catalogue, pairs
from reader.catalogue.io.slip_pdf import slip_pdf
from reader.catalogue.query.room import tyres_through
from reader.catalogue.query.slip import never, slip, slips
from reader.catalogue.query.slip_text import sections
from reader.errors import InputError
from reader.fit.grades import Grade
from reader.fit.parts import Rim, Tyre
from reader.fit.room import largest, openings
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


@pytest.fixture
def bins(tmp_path):
    return open_catalogue(str(tmp_path / "bins.db"))


def said(one) -> dict[str, str]:
    return {head: " ".join(lines) for head, lines in sections(one)}


def test_a_rims_slip(bins) -> None:
    """622x25C: widths by VIT, DER, STD; mix-ups by CUK2 and CCM (see sources.csv)."""
    add_part(bins, None, (), Place("Rack A"), size=Size(622, 47), kind="tyre", quantity=2)
    add_part(bins, None, (), Place("Rack B"), size=Size(622, 23), kind="tyre")
    (one,) = slips(["622x25C"], TABLES, bins)
    assert (one.title, one.part, one.size.bsd) == ("622x25C", "rim", 622)
    assert "700C" in one.names
    assert dict(one.goes)[Grade.CURRENT][0] == 47
    words = said(one)
    assert "in no table: 40 to 43, though 38 and 44 are" in words["Tyre widths, mm"]
    assert "Rack A: tyre 47-622, 2 pieces" in words["In the bins"]
    assert "Rack B" not in words["In the bins"]  # 23 on 25 mm is in no table
    assert "630 mm" in words["Never, though it sounds alike"]
    assert "lower of the two limits" in words["Mind"]
    assert "622" in words["Tube and valve"] and "6.5 mm" in words["Tube and valve"]


def test_what_was_not_read_surely_is_counted_and_not_offered(bins) -> None:
    from tests.catalogue.test_search import read

    read(bins, "1", (37, 590, 0.7), (37, 597, 0.3))
    (one,) = slips(["590x19C"], TABLES, bins)
    assert one.there == () and one.unsure == 1
    assert "1 more may fit" in said(one)["In the bins"]


def test_a_parts_code_and_its_doubt(bins) -> None:
    from tests.catalogue.test_search import read

    sure = add_part(bins, None, (), size=Size(622, 19), kind="rim", rim_kind="TC")
    (one,) = slips([sure.code], TABLES, bins)
    assert one.title == "622x19TC" and not one.settle
    unsure = read(bins, "1", (37, 590, 0.7), (37, 597, 0.3))
    (one,) = slips([unsure.code], TABLES, bins)
    assert "70 % belief only" in said(one)["Not settled"]
    tube = add_part(bins, None, (), size=Size(559, 37), kind="tube", tube_label="37/57-559")
    with pytest.raises(InputError, match="no tyre or rim"):
        slips([tube.code], TABLES, bins)


def test_a_tyres_slip_lists_rims_and_tubes(bins) -> None:
    add_part(bins, None, (), Place("T"), size=Size(559, 37), kind="tube", tube_label="37/57-559")
    (one,) = slips(["47-559"], TABLES, bins)
    assert "Rims: inner widths, mm (crochet)" in said(one)
    assert "T: tube 37/57-559" in said(one)["In the bins"]


def test_two_names() -> None:
    """One part by two names, as on the telephone; or a tyre and a rim."""
    (one,) = slips(["E.A.3", "26 x 1 3/8"], TABLES)
    assert one.size.bsd == 590 and not one.settle
    (wheel,) = slips(["622x25TSS", "28-622"], TABLES)
    assert wheel.part == "wheel" and wheel.fit is not None
    assert "NO TABLE IN HAND ALLOWS IT" in said(wheel)["Do they go together"]
    assert "5.0 bar" in said(wheel)["Pressure"]
    for asked in ([], ["1", "2", "3"]):
        with pytest.raises(InputError, match="one or two"):
            slips(asked, TABLES)
    with pytest.raises(InputError, match="no part"):
        slip(None, None, TABLES)


def test_a_name_of_several_diameters_gives_a_slip_each() -> None:
    made = slips(["26 x 1 3/8"], TABLES)
    assert {one.size.bsd for one in made} >= {590, 597}
    assert all("ask for the number" in said(one)["Not settled"] for one in made)


def test_what_is_neither_size_nor_code(bins) -> None:
    with pytest.raises(InputError, match="no size"):
        slips(["rubber"], TABLES)
    with pytest.raises(InputError, match="no size and no part's code"):
        slips(["rubber"], TABLES, bins)
    (bare,) = slips(["622"], TABLES)
    assert not bare.goes and bare.tubes
    assert never(686, TABLES) == ()
    assert "no label is known" in said(slips(["93"], TABLES)[0])["Tube and valve"]


def test_the_printed_page_holds_every_word_on_one_page_each() -> None:
    made = slips(["26 x 1 3/8"], TABLES)
    document = pypdfium2.PdfDocument(slip_pdf(made))
    assert len(document) == len(made)
    for one, page in zip(made, document, strict=True):
        printed = re.sub(r"\s+", "", page.get_textpage().get_text_bounded())
        assert one.title in printed
        for head, lines in sections(one):
            for text in (head, *lines):
                assert re.sub(r"\s+", "", text) in printed


def test_tyres_in_the_bins_that_a_frame_takes(bins) -> None:
    from tests.catalogue.test_search import read

    for width in (25, 35, 47):
        add_part(bins, None, (), Place("A"), size=Size(622, width), kind="tyre")
    read(bins, "1", (32, 622, 0.7), (32, 630, 0.3))
    room = largest(openings(None, 48, None), TABLES, 622, Rim(Size(622, 19)))
    found, unsure = tyres_through(bins, room)
    assert [part.width for part in found] == [35, 25] and unsure == 1
    none = largest(openings(None, 20, None), TABLES, 622, Rim(Size(622, 19)))
    assert tyres_through(bins, none) == ([], 0)


def test_what_is_known_of_a_part_counts_in_fit_and_slip(bins) -> None:
    """A tyre that says no hookless is not offered for a hookless rim, nor a reject for any."""
    kinds = {"approved": ("yes", ""), "barred": ("no", ""), "worn": ("yes", "reject")}
    for place, (hookless, condition) in kinds.items():
        made = add_part(bins, None, (), Place(place), size=Size(622, 40), kind="tyre")
        change_part(bins, made.code, tubeless="yes", hookless=hookless, condition=condition,
                    pressure_high=400.0)  # fmt: skip
    (one,) = slips(["622x23TSS"], TABLES, bins)
    assert [found.part.bin for found in one.there] == ["approved"]
    pressure = one.there[0].fit.outcomes[0][0].pressure
    assert pressure is not None and pressure.high is not None
    assert pressure.high.kpa == 350  # the transcription's limit for 40 mm is below the tyre's 400
    rim = add_part(bins, None, (), size=Size(622, 23), kind="rim")
    change_part(bins, rim.code, hookless="yes", pressure_low=200.0, pressure_high=300.0)
    (own,) = slips([rim.code], TABLES, bins)
    assert own.title == "622x23TSS" and own.pressure.high is not None
    assert own.pressure.high.kpa == 300


def test_a_makers_range_is_kept_with_the_part_and_overrules(bins) -> None:
    """28-622 on 25 mm is in no table held here; this rim's maker allows 25 to 47."""
    rim = add_part(bins, None, (), size=Size(622, 25), kind="rim", rim_kind="C")
    change_part(bins, rim.code, allows_from=25.0, allows_to=47.0)
    (own,) = slips([rim.code], TABLES, bins)
    assert dict(own.goes)[Grade.MAKER][0] == 25 and dict(own.goes)[Grade.MAKER][-1] == 47
    (found,) = fits(bins, Tyre(Size(622, 28)), TABLES)
    assert found.fit.grade is Grade.MAKER
    change_part(bins, rim.code, allows_from=30.0)
    assert fits(bins, Tyre(Size(622, 28)), TABLES) == []


def test_pairs_heed_what_is_known_of_both_parts(bins) -> None:
    rim = add_part(bins, None, (), size=Size(622, 23), kind="rim")
    change_part(bins, rim.code, hookless="yes")
    made = {}
    for hookless in ("no", "yes"):
        tyre = add_part(bins, None, (), size=Size(622, 40), kind="tyre")
        change_part(bins, tyre.code, tubeless="yes", hookless=hookless)
        made[hookless] = tyre.code
    ((pair,), _) = pairs(bins, TABLES)
    assert pair.tyre.code == made["yes"] and pair.grade is Grade.CURRENT
    odd = add_part(bins, None, (), size=Size(590, 25), kind="rim", rim_kind="C")
    change_part(bins, odd.code, allows_from=28.0, allows_to=40.0)
    add_part(bins, None, (), size=Size(590, 28), kind="tyre")
    by_maker = pairs(bins, TABLES)[0][0]
    assert (by_maker.rim.code, by_maker.grade) == (odd.code, Grade.MAKER)
