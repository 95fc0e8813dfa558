"""Typed designations, lists, tubes, tape, measurements, and fit of parts that were read."""

from __future__ import annotations

import math

import pytest

from reader.errors import InputError
from reader.fit.doubtful import fit_reading, rim_read, tyre_read
from reader.fit.grades import Grade
from reader.fit.measure import from_rim, from_tyre, parse_taped
from reader.fit.partners import rims_for, tyres_for
from reader.fit.parts import Edge, Rim, RimKind, Tyre
from reader.fit.rim_tape import rim_tape, valves_for
from reader.fit.tube import Suits, labels_for, look_for, parse_tube, suits
from reader.records import Candidate, Fact, Judgement, Reading, Size, Verdict
from reader.tables import load_tables

TABLES = load_tables()
HOOKED = Rim(Size(590, 19), RimKind.CROCHET)


def test_lists_both_ways_agree() -> None:
    on_19 = {
        line.size.width: line.fit.grade
        for line in tyres_for(Rim(Size(622, 19), RimKind.CROCHET), TABLES)
    }
    assert on_19[28] is Grade.CURRENT and on_19[25] is Grade.CURRENT and 24 not in on_19
    under_57 = {line.size.width: line.fit.grade for line in rims_for(Tyre(Size(584, 57)), TABLES)}
    assert under_57[25] is Grade.CURRENT and 13 not in under_57
    for kind in (RimKind.HOOKLESS, RimKind.STRAIGHT, RimKind.BEADED, RimKind.TUBULAR):
        assert len(tyres_for(Rim(Size(622, 23), kind), TABLES)) > 0
    on_25 = tyres_for(Rim(Size(622, 25), RimKind.CROCHET), TABLES)
    assert on_25.holes == ((40, 43, 38, 44),)
    with pytest.raises(InputError, match="622x19C"):
        tyres_for(Rim(Size(622)), TABLES)
    with pytest.raises(InputError, match="57-584"):
        rims_for(Tyre(Size(622)), TABLES)


@pytest.mark.parametrize(
    ("label", "bsds", "low", "high"),
    [  # read labels, section 5 of the size notes; the last from memory
        ("37/57-559", (559,), 37, 57),
        ("700x18 to 700x25", (622,), 18, 25),
        ("28/47-622/635", (622, 635), 28, 47),
        ("25-622/635", (622, 635), 25, 25),
    ],
)
def test_tube_labels(label: str, bsds: tuple[int, ...], low: float, high: float) -> None:
    tube = parse_tube(label)
    assert (tube.bsds, tube.width_min, tube.width_max) == (bsds, low, high)
    assert suits(tube, Size(bsds[-1], low)).grade is Suits.YES
    assert suits(tube, Size(bsds[0], high + 1)).grade is Suits.NO
    assert suits(tube, Size(bsds[0], low - 1)).grade is Suits.NO
    assert suits(tube, Size(507, low)).grade is Suits.NO
    assert suits(tube, Size(bsds[0])).grade is Suits.CANT_TELL


@pytest.mark.parametrize("row", TABLES.tube_labels, ids=lambda row: row.text)
def test_every_printed_label_of_the_table_is_understood(row) -> None:
    """Forms from shops, magazines and help pages; each row names its source."""
    tube = parse_tube(row.text, TABLES)
    assert (tube.width_min, tube.width_max, tube.bsds) == (row.width_min, row.width_max, row.bsds)
    for bsd in tube.bsds:  # every diameter that is listed counts fully
        assert suits(tube, Size(bsd, row.width_max)).grade is Suits.YES


@pytest.mark.parametrize(
    ("label", "bsds", "low", "high", "valve", "length"),
    [
        ("57-559 SV 36 mm", (559,), 57, 57, "presta", 36),  # WNL: SV, its length in mm
        ("37/57-559 AV", (559,), 37, 57, "schrader", None),  # WNL
        ("28/47-622/635 DV 32", (622, 635), 28, 47, "dunlop", 32),
        ("26 x 1 3/8", (590, 597), 37, 37, "", None),  # BHG: both take the same tube
        ("12 1/2 x 1.75", (203,), 47, 47, "", None),
        ("29 x 2.1-2.4 Presta valve", (622,), 54, 60, "presta", None),
        ("650A x 1.25", (590,), 32, 32, "", None),
    ],
)
def test_labels_with_inches_and_valves(label, bsds, low, high, valve, length) -> None:
    tube = parse_tube(label, TABLES)
    assert (tube.bsds, tube.width_min, tube.width_max) == (bsds, low, high)
    assert (tube.valve, tube.valve_mm) == (valve, length)


def test_tubes_shared_by_two_diameters_whose_tyres_never_interchange() -> None:
    """622 and 630, 590 and 597: three US shops (source BHG)."""
    for label, tyre in (("28/47-622", Size(630, 32)), ("37/47-590", Size(597, 37))):
        found = suits(parse_tube(label), tyre)
        assert found.grade is Suits.YES and "the tyres are not" in found.reason
    assert suits(parse_tube("28/47-622"), Size(635, 40)).grade is Suits.NO


@pytest.mark.parametrize(
    "text",
    ["", "57/37-559", "37/57", "37/57-999", "tube", "26 x 9.9", "37/57-559 rubber"],
)
def test_nonsense_tubes(text: str) -> None:
    with pytest.raises(InputError, match="for example"):
        parse_tube(text)
    with pytest.raises(InputError, match="add A, B or C"):
        parse_tube("650 x 28-32")


def test_which_label_to_look_for() -> None:
    assert labels_for(Size(622, 20), TABLES)[0].text in ("700x18-23", "700 x 20-25")
    assert "47" in look_for(Size(559, 47)) and "the tyre's width" in look_for(Size(559))


def test_tape_and_valves() -> None:
    rim = Rim(Size(622, 21))
    plain, tubeless = rim_tape(rim), rim_tape(rim, tubeless=True)
    assert plain is not None and tubeless is not None
    assert plain.value < tubeless.value and plain.from_memory
    assert rim_tape(Rim(Size(622))) is None
    assert [one.goes for one in valves_for(8.5)] == [True, True, True]
    assert "sleeve" in valves_for(8.5)[0].words
    assert "never drill" in valves_for(6.5)[1].words


@pytest.mark.parametrize("bsd", [305, 406, 507, 559, 590, 622])
def test_a_taped_rim_leads_to_its_diameter(bsd: int) -> None:
    taped = parse_taped(f"{math.pi * (bsd + 12):.0f} mm around")
    found = from_rim(taped, TABLES)
    assert bsd in [one.size.bsd for one in found[:2]]
    assert sum(one.share for one in found) == pytest.approx(1)


@pytest.mark.parametrize(
    "row", TABLES.circumferences[:12], ids=lambda row: f"{row.width:g}-{row.bsd}"
)
def test_a_published_circumference_leads_to_its_size(row) -> None:
    """Source QT; the width is known, as a calliper tells it."""
    found = from_tyre(parse_taped(f"{row.mm:g} mm around"), TABLES, width=row.width)
    assert row.bsd in [one.size.bsd for one in found[:6]]


def test_measurements_in_other_units() -> None:
    assert parse_taped("78.5 in around").diameter == pytest.approx(634.7, abs=0.1)
    assert parse_taped("63,4 cm across").diameter == pytest.approx(634)
    assert parse_taped("634 across", 5).sigma == 2.5
    assert from_tyre(parse_taped("678 across"), TABLES)[0].size.bsd in (559, 584, 622)
    assert from_rim(parse_taped("900 across"), TABLES) == ()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "634",
        "634 kg",
        "78 1/2",
        "3 across the bead seat",
        "-5 mm across",
        "5 mm across",
        "9000 around",
    ],
)
def test_nonsense_measurements(text: str) -> None:
    with pytest.raises(InputError, match="for example"):
        parse_taped(text)


@pytest.mark.parametrize("bsd", [540, 559, 571, 584, 590, 597, 622, 630, 635])
def test_a_tape_round_the_bead_seat_tells_neighbours_apart(bsd: int) -> None:
    """Plane geometry; the diameters are those of the tables, 5 mm apart at the least here."""
    for text in (f"{math.pi * bsd:.0f} mm round the bead seat", f"{bsd / 2:g} hub to seat"):
        taped = parse_taped(text)
        assert taped.at_seat
        found = from_rim(taped, TABLES)
        assert bsd in (found[0].size.bsd, found[1].size.bsd if len(found) > 1 else 0)
        assert found[0].size.bsd == bsd or bsd in (540, 541)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("78 1/2 in around", 78.5 * 25.4 / math.pi), ("24 1/2 inches across", 622.3),
     ("77 in bead seat", 77 * 25.4 / math.pi), ("12 1/4 in hub", 622.3)],
)  # fmt: skip
def test_fractions_of_an_inch(text: str, mm: float) -> None:
    """1 inch = 25.4 mm by international agreement (source UNIT)."""
    assert parse_taped(text).diameter == pytest.approx(mm)


def test_an_error_means_what_is_printed_after_give_or_take() -> None:
    around = parse_taped("1995 mm around", 4)
    assert around.error == 4
    assert 2 * around.sigma == pytest.approx(4 / math.pi)
    assert parse_taped("311 hub to seat", 1).sigma == pytest.approx(1)  # twice a radius, halved
    with pytest.raises(InputError, match="bare rim"):
        from_tyre(parse_taped("1954 mm seat"), TABLES)


def test_a_nonsense_error_of_the_tape() -> None:
    with pytest.raises(InputError, match="for example 3"):
        parse_taped("634 across", 0)


def reading(verdict: Verdict, *shares: tuple[int, float], part: str = "tyre") -> Reading:
    found = tuple(Candidate(Size(bsd, 37), part, share) for bsd, share in shares)  # type: ignore[arg-type]
    return Reading(found, verdict)


def test_a_70_percent_reading_can_not_give_a_sure_fit() -> None:
    found = fit_reading(reading(Verdict.LIKELY, (590, 0.7), (597, 0.3)), HOOKED, TABLES)
    assert found.grade is Grade.CANT_TELL
    assert found.if_right is Grade.OLDER
    assert found.chance == pytest.approx(0.7)
    assert "70 %" in found.words


def test_a_sure_reading_may_give_a_grade() -> None:
    sure = fit_reading(reading(Verdict.SURE, (590, 0.995)), HOOKED, TABLES)
    assert sure.grade is Grade.OLDER
    never = fit_reading(reading(Verdict.SURE, (597, 1.0)), HOOKED, TABLES)
    assert never.grade is Grade.NEVER
    unsure = fit_reading(reading(Verdict.LIKELY, (597, 1.0)), HOOKED, TABLES)
    assert unsure.grade is Grade.CANT_TELL and unsure.if_right is Grade.NEVER
    assert "over 99 %" in fit_reading(reading(Verdict.LIKELY, (590, 1.0)), HOOKED, TABLES).words


def test_a_read_rim_carries_its_doubt_too() -> None:
    rim = Reading((Candidate(Size(590, 19), "rim", 0.9),), Verdict.LIKELY)
    found = fit_reading(Tyre(Size(590, 37)), rim, TABLES, kind=RimKind.CROCHET)
    assert found.grade is Grade.CANT_TELL and found.chance == pytest.approx(0.9)


def test_nothing_read_is_no_fit() -> None:
    found = fit_reading(reading(Verdict.NONE), HOOKED, TABLES)
    assert found.grade is Grade.CANT_TELL and not found.outcomes
    wrong_part = fit_reading(reading(Verdict.SURE, (590, 1.0), part="rim"), HOOKED, TABLES)
    assert not wrong_part.outcomes


def marked(part: str, *facts: Fact, verdict: Verdict = Verdict.SURE, width: float = 37) -> Reading:
    found = (Candidate(Size(590, width), part, 1.0),)  # type: ignore[arg-type]
    return Reading(found, verdict, facts=facts)


def test_marks_that_were_read_count_in_the_fit() -> None:
    tyre = marked("tyre", Fact("pressure", 450.0, "MAX 65 PSI", 0.97))
    rim = marked("rim", Fact("pressure", 350.0, "MAX 3.5 BAR", 0.95), width=19)
    ((found, _),) = fit_reading(tyre, rim, TABLES).outcomes
    assert found.pressure is not None and found.pressure.high is not None
    assert found.pressure.high.kpa == 350  # the lower of both parts
    unsure = marked("rim", Fact("pressure", 350.0, "MAX 3.5 BAR", 0.6), width=19)
    ((found, _),) = fit_reading(tyre, unsure, TABLES).outcomes
    assert found.pressure is not None and found.pressure.high is not None
    assert found.pressure.high.kpa == pytest.approx(448.2, abs=0.1)


def test_a_tyre_that_says_no_hookless_is_refused_on_a_hookless_rim() -> None:
    rim = marked("rim", Fact("hookless", True, "HOOKLESS", 0.99), width=23)
    for value, text in ((False, "NO HOOKLESS"), (True, "No hookless")):
        tyre = marked(
            "tyre", Fact("tubeless", True, "TLR", 0.99), Fact("hookless", value, text, 0.99)
        )
        assert fit_reading(tyre, rim, TABLES).grade is Grade.NEVER
    fine = marked(
        "tyre", Fact("tubeless", True, "TLR", 0.99), Fact("hookless", True, "HOOKLESS OK", 0.99)
    )
    assert fit_reading(fine, rim, TABLES).grade is Grade.CURRENT
    assert fit_reading(marked("tyre"), rim, TABLES).grade is Grade.CANT_TELL


def test_edges_that_were_read() -> None:
    assert rim_read(marked("rim", Fact("edge", "tss", "622x23 TSS", 1.0)), Size(590, 23)).kind == (
        RimKind.HOOKLESS
    )
    known = rim_read(marked("rim", Fact("edge", "TSS", "", 1.0)), Size(590, 23), RimKind.CROCHET)
    assert known.kind is RimKind.CROCHET
    glued = tyre_read(marked("tyre", Fact("edge", "tubular", "TUBULAR", 1.0)), Size(590, 28))
    assert glued.edge is Edge.TUBULAR


def test_pressures_that_make_no_sense_say_nothing() -> None:
    nonsense = Fact("pressure", 0.0, "8O PS", 1.0)
    apart = (Fact("pressure", 0.0, "MIN 5 BAR", 1.0), Fact("pressure", 0.0, "MAX 3 BAR", 1.0))
    assert tyre_read(marked("tyre", nonsense), Size(590, 37)).max_kpa is None
    assert tyre_read(marked("tyre", *apart), Size(590, 37)).max_kpa is None


def test_a_guess_of_one_percent_is_not_listed_as_fitting() -> None:
    found = fit_reading(reading(Verdict.LIKELY, (597, 0.97), (590, 0.02)), HOOKED, TABLES)
    assert not found.listed and found.possible == pytest.approx(0.02)
    assert [one.tyre.size.bsd for one, _ in found.outcomes] == [597]
    assert fit_reading(reading(Verdict.LIKELY, (597, 0.6), (590, 0.3)), HOOKED, TABLES).listed


def test_a_sure_diameter_bars_whatever_the_width() -> None:
    sure = Judgement(597, 0.999, Verdict.SURE)
    tyre = Reading(
        (Candidate(Size(597, 37), "tyre", 0.6), Candidate(Size(597, 35), "tyre", 0.4)),
        Verdict.LIKELY,
        diameter=sure,
    )
    assert fit_reading(tyre, HOOKED, TABLES).grade is Grade.NEVER
    assert fit_reading(tyre, Rim(Size(597, 19)), TABLES).grade is Grade.CANT_TELL


def test_a_range_in_mm_with_the_inch_beside_it() -> None:
    assert parse_tube("40 to 62 mm (26 inch)").bsds == (559,)
