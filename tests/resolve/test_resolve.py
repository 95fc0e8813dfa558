"""From markings to the answer: verdicts, evidence, contradictions, advice."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reader.errors import InputError
from reader.markings import parse_text
from reader.records import Hypothesis, Marking, Size, Verdict
from reader.resolve import advice
from reader.resolve.calibration import NAMES, UNCALIBRATED, Calibration, Model
from reader.resolve.resolve import evidence_features, resolve, verdict
from reader.resolve.weights import JUDGED
from reader.tables import load_tables

TABLES = load_tables()


def answer(markings, part="tyre", market="world", calibration=UNCALIBRATED):
    """By the judged weights, so that no fit moves what is shown here of how they work."""
    return resolve(markings, part, TABLES, market, calibration, JUDGED)


def log_odds(probability):
    return math.log(probability / (1 - probability))


# Texts as read on real parts; source: kosunacycle.com/archives/1133 (first four), ISO 5775
# overview (fifth), bicycles.stackexchange.com 11255 and fahrrad-abenteuer-reisen.de (rims).
@pytest.mark.parametrize(
    ("text", "part", "size"),
    [
        ("37-590 26x1 3/8", "tyre", Size(590, 37)),
        ("27x1 3/8 37-630", "tyre", Size(630, 37)),
        ("47-406 20x1.75", "tyre", Size(406, 47)),
        ("28-622 700x28C", "tyre", Size(622, 28)),
        ("32-597 inflate to 400 kPa", "tyre", Size(597, 32)),
        ("622x15c", "rim", Size(622, 15)),
        ("19-622", "rim", Size(622, 19)),
    ],
)
def test_published_texts_give_their_size(line, found, text, part, size):
    reading = answer(found(line(text)), part)
    assert (reading.verdict, reading.best.size, reading.part) == (Verdict.SURE, size, part)
    assert not reading.calibrated


@pytest.mark.parametrize(
    ("text", "bsd"),
    [("26x1.75", 559), ("700x28C", 622), ("650B", 584), ("28 x 1 5/8 x 1 3/8", 622)],
)
def test_names_alone_are_likely_at_most(line, found, text, bsd):
    reading = answer(found(line(text)))
    assert reading.verdict is Verdict.LIKELY
    assert reading.best.size.bsd == bsd
    assert advice.NAMES_SHARED in reading.cautions
    assert any("ISO pair" in step for step in reading.advice)


# As above; the weights and the calibration that are shipped.
@pytest.mark.parametrize(
    ("text", "bsd"),
    [("37-590 26x1 3/8", 590), ("28-622 700x28C", 622), ("39-349", 349), ("26x1.75", 559)],
)
def test_as_shipped_clear_texts_are_told(line, found, text, bsd):
    reading = resolve(found(line(text, score=1.0)), "tyre", TABLES)
    assert (reading.diameter.value, reading.diameter.told) == (bsd, True)
    if text == "26x1.75":  # likely is never told at 99 %
        assert reading.diameter.probability <= 0.97


def test_ambiguous_fraction_asks_for_what_settles_it(line, found):
    reading = answer(found(line("26 x 1 3/8")))
    assert reading.verdict is Verdict.CANT_TELL
    assert reading.best.size.bsd == 590
    (step,) = reading.advice
    assert "590" in step and "597" in step and "measure" in step
    assert "could be 590 or 597" in reading.best.evidence[0].name


def test_market_bends_the_belief(line, found):
    shares = {
        market: answer(found(line("20 x 1 3/4")), market=market).best.size.bsd
        for market in ("world", "japan")
    }
    assert shares == {"world": 419, "japan": 451}


def test_unknown_market_is_an_error(line, found):
    with pytest.raises(InputError):
        answer(found(line("47-507")), market="moon")
    with pytest.raises(InputError):
        answer([], market="moon")


def test_pair_is_a_tyre_or_a_rim_until_told(line, found):
    markings = found(line("25-622"))
    reading = answer(markings, "unknown")
    assert reading.part == "unknown"
    assert {(c.size, c.part) for c in reading.candidates} == {
        (Size(622, 25), "tyre"),
        (Size(622, 25), "rim"),
    }
    assert any("tyre or a rim" in step for step in reading.advice)
    for part in ("tyre", "rim"):
        told = answer(markings, part)
        assert [c.part for c in told.candidates] == [part]
        assert told.advice == ()


def test_other_text_tells_the_part(line, found):
    reading = answer(found(line("25-622 60 TPI MAX 85 PSI")), "unknown")
    assert reading.part == "tyre"
    assert any(e.name == "other text beside it" for e in reading.best.evidence)


def test_tyre_on_its_rim_is_about_the_tyre(line, found):
    reading = answer(found(line("28-622 700x28C"), line("622x19C", y=100)), "unknown")
    assert reading.part == "tyre"
    assert reading.best.size == Size(622, 28)
    assert reading.verdict is Verdict.SURE
    assert any("another part" in e.name for e in reading.best.evidence)


def test_smudged_pair_beside_a_clear_name_is_settled(line, found):
    def rivals(hypothesis):
        for width in (52, 54, 57):
            for bsd in (584, 554, 594):
                numbers = {"width_mm": width, "bsd_mm": bsd}
                yield Marking("iso_pair", f"{width}-{bsd}", numbers, (0, 6), 1.2, hypothesis)

    smudged = line("5?-5?4", score=1.0)
    alone = answer(list(rivals(smudged)))
    both = answer([*rivals(smudged), *found(line("27.5x2.25", y=100))])
    assert alone.verdict is Verdict.CANT_TELL
    assert "is the width 52, 54 or 57?" in alone.advice[0]
    assert both.best.size.bsd == 584
    assert both.best.probability > alone.best.probability
    bsd = sum(c.probability for c in both.candidates if c.size.bsd == 584)
    assert bsd > 0.99


def test_evidence_sums_to_the_log_odds(line, found):
    markings = found(
        line("37-590 26x1 3/8"), line("26x1 3/8", photo="b.jpg"), line("37-597", y=200, score=0.4)
    )
    for calibration in (
        UNCALIBRATED,
        Calibration({"pair": Model(0.1, (0.5, 0.1, *(0,) * (len(NAMES) - 2)))}, fitted=True),
    ):
        for candidate in answer(markings, calibration=calibration).candidates:
            total = sum(item.weight for item in candidate.evidence)
            assert total == pytest.approx(log_odds(candidate.probability), abs=1e-3)


def test_faint_traces_are_summed_up(line, found):
    clear = found(line("47-507"))
    pair = clear[0]
    seen = [line("47-507", y=100.0 * k, score=1.0, engine="tesseract") for k in range(1, 9)]
    faint = [replace(pair, cost=5.5, hypothesis=one) for one in seen]
    names = [item.name for item in answer([*clear, *faint]).best.evidence]
    assert "faint traces" in names


def test_contradiction_is_shown_and_lowers_the_verdict(line, found):
    reading = answer(found(line("47-507"), line("47-559", y=100)))
    assert reading.verdict is Verdict.CANT_TELL
    assert reading.contradictions == ("'47-507' and '47-559' do not name the same size",)
    assert "disagree" in reading.advice[0]
    assert {c.size.bsd for c in reading.candidates[:2]} == {507, 559}


# ISO 5775-1: only the pair is a measure; the name beside it is the maker's own. Both are shown.
@pytest.mark.parametrize("text", ["37-590 27 x 1 1/4", "47-507 26 x 1.75", "28-622 27 x 1 1/8"])
def test_a_name_that_differs_never_beats_a_clear_pair(line, found, text):
    reading = answer(found(line(text)))
    assert str(reading.best.size) == text.split()[0]
    assert reading.verdict is not Verdict.SURE
    assert reading.contradictions


def test_what_the_photo_cuts_off_is_asked_for_again(line, found):
    whole = found(line("47-507"))
    cut = [replace(marking, cut=True) for marking in whole]
    assert answer(whole).verdict is Verdict.SURE
    reading = answer(cut)
    assert reading.verdict is Verdict.LIKELY
    assert any("edge" in advice for advice in reading.advice)
    dear = [replace(marking, cost=3.4) for marking in cut]
    nothing = answer([m for m in dear if m.notation == "rim"])
    assert any("edge" in advice for advice in nothing.advice)


def test_photos_of_two_parts_are_asked_about(line, found):
    """Two sure photos that name different diameters are two parts, however many agree with one."""
    reading = answer(found(line("26-630", photo="a.jpg"), line("71-622", photo="b.jpg")))
    assert {reading.verdict, reading.diameter.verdict} == {Verdict.CANT_TELL}
    assert reading.advice[0].startswith("Are these the same part?")
    assert "a.jpg says 26-630" in reading.advice[0] and "b.jpg says 71-622" in reading.advice[0]
    more = found(
        line("47-507 24x1.75"), line("47-507", photo="b.jpg"), line("47-559", photo="c.jpg")
    )
    assert answer(more).diameter.verdict is Verdict.CANT_TELL


def test_one_doubtful_photo_of_many_asks_nothing(line, found):
    same = [m for k in range(5) for m in found(line("47-507", photo=f"{k}.jpg"))]
    odd = [replace(m, cost=1.6) for m in found(line("47-559", photo="odd.jpg", score=0.7))]
    reading = answer([*same, *odd])
    assert (reading.diameter.value, reading.diameter.verdict) == (507, Verdict.SURE)
    assert not any("same part" in step for step in reading.advice)


def test_widths_contradict_only_on_the_same_part(line, found):
    assert answer(found(line("47-507"), line("54-507", y=100))).contradictions
    assert not answer(found(line("622x19C"), line("28-622", y=100)), "unknown").contradictions
    assert not answer(found(line("50-559"), line("26x1.95", y=100))).contradictions


def test_more_photos_of_a_worn_part_help(line, found):
    worn = [replace(m, cost=m.cost + 2.0) for m in found(line("47-507"))]
    again = [replace(m, cost=m.cost + 2.0) for m in found(line("47-507", photo="b.jpg"))]
    other = [replace(m, cost=m.cost + 2.0) for m in found(line("24x1.75", photo="c.jpg"))]
    one, two, three = (
        answer(markings).best.probability
        for markings in (worn, [*worn, *again], [*worn, *again, *other])
    )
    assert one < two < three


def test_engines_that_differ_are_no_sure_answer(line, found):
    reading = answer(found(line("47-507"), line("47-547", engine="moulded")))
    assert reading.verdict is not Verdict.SURE


def test_nothing_read_says_what_to_photograph(line, found):
    for part, word in (("tyre", "sidewall"), ("rim", "spokes"), ("tube", "box")):
        reading = answer(found(line("MADE SOMEWHERE")), part)
        assert (reading.verdict, reading.candidates) == (Verdict.NONE, ())
        assert word in reading.advice[0]
        assert reading.cautions == ()
    assert answer([]).verdict is Verdict.NONE


def test_faint_chance_reading_names_no_size(line):
    chance = Marking("inch_fraction", "20x1", {"diameter_in": 20, "width_in": 1, "width_text": "1"})
    hypothesis = line("Z0 XI", score=0.4)
    reading = answer([replace(chance, cost=5.5, hypothesis=hypothesis, span=(0, 5))])
    assert reading.verdict is Verdict.NONE
    assert evidence_features(reading.markings, "tyre", TABLES) is None


def test_decoys_are_kept_and_never_a_size(line, found):
    reading = answer(found(line("50-85 PSI 60 TPI MAX LOAD 115 KG")))
    assert reading.verdict is Verdict.NONE
    assert {m.notation for m in reading.markings} >= {"pressure", "threads", "load"}


def test_entry_from_memory_is_never_sure(line, found):
    seat = next(s for s in TABLES.seats if s.from_memory and TABLES.tyre_widths_at(s.bsd))
    width = TABLES.tyre_widths_at(seat.bsd)[0]
    text = f"{width:g}-{seat.bsd}"
    hypothesis = line(text, score=1.0)
    numbers = {"width_mm": width, "bsd_mm": seat.bsd}
    reading = answer([Marking("iso_pair", text, numbers, (0, len(text)), 0.0, hypothesis)])
    assert reading.best.size == Size(seat.bsd, width)
    assert reading.verdict is Verdict.LIKELY
    assert advice.FROM_MEMORY in reading.cautions


def test_beaded_edge_is_warned_of(line):
    seat = next(s for s in TABLES.seats if s.kind == "beaded" and not s.from_memory)
    numbers = {"bsd_mm": seat.bsd, "width_mm": 25, "kind": "HB", "order": "bsd"}
    text = f"HB {seat.bsd}x25"
    marking = Marking("rim", text, numbers, (0, len(text)), 0.0, line(text, score=1.0))
    assert advice.BEADED in answer([marking], "rim").cautions


def test_tube_label_tells_the_diameter_and_asks_nothing(line, found):
    reading = answer(found(line("28/47-622")), "tube")
    assert (reading.verdict, reading.best.size) == (Verdict.LIKELY, Size(622))
    assert reading.advice == ()


def test_limits_come_first_among_the_cautions(line, found):
    assert answer(found(line("47-507"))).cautions[0] == advice.LIMITS


def test_single_weak_engine_is_told_to_confirm(line, found):
    reading = answer(found(line("47-507", engine="tesseract")))
    assert reading.verdict is Verdict.LIKELY
    assert "confirm" in reading.advice[0]


def test_rim_candidate_carries_no_tyre_widths_in_its_names(line, found):
    reading = answer(found(line("622x25C")), "rim")
    assert "700C" in reading.best.names
    assert "700x25C" not in reading.best.names


def test_calibrated_probability_is_used_and_told(line, found):
    markings = found(line("47-507"))
    doubtful = Calibration({"pair": Model(-1.0, (0,) * len(NAMES))}, fitted=True)
    reading = answer(markings, calibration=doubtful)
    assert reading.calibrated
    assert reading.best.probability == pytest.approx(1 / (1 + math.e))
    assert reading.verdict is Verdict.CANT_TELL
    assert reading.best.evidence[-1].name == "calibration"
    probabilities = [c.probability for c in reading.candidates]
    assert probabilities == sorted(probabilities, reverse=True)


def test_shipped_calibration_is_the_default(line, found):
    assert resolve(found(line("47-507")), "tyre", TABLES).best.size == Size(507, 47)


def test_typed_markings_without_photo_work():
    reading = answer(list(parse_text("47-507")))
    assert reading.photos == ()
    assert reading.best.evidence[0].engine == ""
    loose = Hypothesis("scene", "47-507", 0.9)
    assert answer([replace(m, hypothesis=loose) for m in parse_text("47-507")]).photos == ()


def test_photos_are_listed_once(line, found):
    reading = answer(found(line("47-507"), line("24x1.75", y=90), line("47-507", photo="b.jpg")))
    assert reading.photos == ("side.jpg", "b.jpg")


def test_features_for_the_calibration(line, found):
    size, seen = evidence_features(
        found(line("47-507"), line("47-507", y=3), line("47-547", engine="tesseract")),
        "tyre",
        TABLES,
    )
    assert size == Size(507, 47)
    assert (seen.kind, seen.places, seen.memory, seen.contradiction) == ("pair", 1.0, False, False)
    assert seen.agreement == pytest.approx(2 / 3)
    assert evidence_features([], "tyre", TABLES) is None


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(
                ["47-507", "25-622", "622x19C", "26x1 3/8", "700x28", "28/47-622", "80 PSI", "650B"]
            ),
            st.sampled_from(["a", "b"]),
            st.sampled_from(["scene", "tesseract", "moulded"]),
            st.integers(0, 3),
            st.floats(0.05, 1.0),
        ),
        max_size=6,
    ),
    st.sampled_from(["tyre", "rim", "tube", "unknown"]),
)
def test_any_evidence_gives_a_coherent_answer(line, found, rows, part):
    lines = [
        line(text, photo=photo, engine=engine, y=60.0 * row, score=score)
        for text, photo, engine, row, score in rows
    ]
    markings = found(*lines)
    reading = answer(markings, part)
    assert reading.markings == tuple(markings)
    assert sum(c.probability for c in reading.candidates) <= 1 + 1e-6
    assert all(np.isfinite([e.weight for c in reading.candidates for e in c.evidence]))
    assert (reading.verdict is Verdict.NONE) == (not reading.candidates)
    assert all(c.part == part for c in reading.candidates) or part == "unknown"
    if reading.verdict is Verdict.SURE:
        assert any(m.notation in ("iso_pair", "rim") for m in markings)


def test_unclear_rim_marking_does_not_make_it_a_tyre_on_a_rim(line, found):
    faint = [replace(m, cost=3.0) for m in found(line("622x19C", y=100))]
    reading = answer([*found(line("28-622 700x28C")), *faint], "unknown")
    assert reading.best.part == "tyre"
    assert {c.part for c in reading.candidates} == {"tyre", "rim"}


# Odd widths are moulded too: 39-349 and 24-406 stand on tyres for small-wheeled bicycles (from
# memory); the width list is no reason to doubt what is read without a fault.
@pytest.mark.parametrize("text", ["39-349", "24-406", "33-559", "51-305"])
def test_a_clear_pair_of_an_odd_width_is_sure(line, found, text):
    reading = answer(found(line(text)))
    width, bsd = text.split("-")
    assert (reading.verdict, reading.best.size) == (Verdict.SURE, Size(int(bsd), int(width)))


def test_widths_that_nobody_read_share_hardly_any_belief(line, found):
    reading = answer(found(line("52-559"), line("32-400", y=90, score=0.3)))
    assert reading.best.size == Size(559, 52)
    assert sum(c.probability for c in reading.candidates if c.size.width != 52) < 0.02


# A rim's own marking beside the French name, as on rims that say both ('700C 622x15'; source:
# sheldonbrown.com/rim-sizing.html on 622 as 700C).
@pytest.mark.parametrize("texts", [("622x24C", "700C"), ("700C 622 x 13TC",)])
def test_a_french_name_does_not_make_a_tyre_of_a_rim(line, found, texts):
    markings = found(*(line(text, y=90 * k) for k, text in enumerate(texts)))
    reading = answer(markings, "unknown")
    assert reading.part == "rim"
    assert reading.best.size.bsd == 622 and reading.best.size.width in (13, 24)
    assert reading.verdict in (Verdict.SURE, Verdict.LIKELY)


def test_a_costly_reading_elsewhere_contradicts_nothing(line, found):
    clear = found(line("28-622 700x28C"))
    stray = [replace(m, cost=1.4) for m in found(line("35-590", y=200)) if m.notation == "iso_pair"]
    reading = answer([*clear, *stray])
    assert reading.contradictions == ()
    assert reading.verdict is Verdict.SURE


def test_an_unclear_fraction_contradicts_no_pair(line, found):
    """'24 x 1 1/4' read where '24 x 1 3/8' stands, with the right one close behind."""
    pair = found(line("37-540"))
    seen = line("24x1 1/4", y=90, score=1.0)
    near = [
        replace(one, cost=cost, span=(0, 8), hypothesis=seen)
        for text, cost in (("24x1 1/4", 0.1), ("24x1 3/8", 1.8))
        for one in parse_text(text)
    ]
    reading = answer([*pair, *near])
    assert reading.contradictions == ()
    assert (reading.best.size, reading.verdict) == (Size(540, 37), Verdict.SURE)


@pytest.mark.parametrize("texts", [("47-507",), ("47-507", "47-559"), ("26 x 1.75",), ("PSI",)])
def test_the_verdict_alone_is_that_of_the_whole_answer(line, found, texts):
    markings = found(*(line(text, y=100.0 * k) for k, text in enumerate(texts)))
    assert verdict(markings, "tyre", TABLES) is resolve(markings, "tyre", TABLES).verdict


def test_three_answers_are_judged_alone(line, found):
    """A width that is told neither by the name nor by the pair leaves the diameter as it is."""
    reading = answer(found(line("47-507")))
    assert (reading.diameter.value, reading.width.value, reading.kind.value) == (507, 47, "tyre")
    assert {reading.diameter.verdict, reading.width.verdict} == {Verdict.SURE}

    smudged = line("5?-559", score=1.0)
    widths = [
        Marking("iso_pair", f"{w}-559", {"width_mm": w, "bsd_mm": 559}, (0, 6), 0.5, smudged)
        for w in (52, 54, 57)
    ]
    half = answer(widths)
    assert (half.diameter.value, half.diameter.verdict) == (559, Verdict.SURE)
    assert half.width.verdict is Verdict.CANT_TELL
    assert half.verdict is Verdict.CANT_TELL
    assert {value for value, _ in half.width.others} == {52, 54, 57} - {half.width.value}


def test_a_name_tells_the_diameter_and_a_nominal_width(line, found):
    reading = answer(found(line("27.5x2.00")))
    assert (reading.diameter.value, reading.diameter.verdict) == (584, Verdict.LIKELY)
    assert (reading.width.value, reading.width.nominal) == (50, True)
    assert reading.width.verdict is not Verdict.SURE


def test_a_width_alone_tells_no_diameter(line, found):
    reading = answer(found(line("2.1"), line("60 TPI", y=80)), "unknown")
    assert (reading.verdict, reading.diameter.value) == (Verdict.NONE, None)
    assert (reading.width.value, reading.width.verdict) == (54, Verdict.LIKELY)
    assert "tells no diameter" in reading.advice[0]
    elsewhere = answer(found(line("2.1"), line("SALE", y=80)), "unknown")
    assert elsewhere.width.value is None


def test_a_fragment_never_outvotes_a_clear_name(line, found):
    """As on a real folded tyre: the name read letter for letter, and '(450 kPa' as 700x31."""
    clear = found(line("27.5X2.00", score=1.0))
    numbers = {"diameter_mm": 700, "width_mm": 54, "letter": "C"}
    scraps = [
        Marking("french", "700X54C", numbers, (0, 6), 1.4, line("700X31", y=200, score=0.54)),
        Marking("french", "700X54C", numbers, (0, 6), 4.0, line("700 KP1", y=201, score=0.76)),
    ]
    reading = answer([*clear, *scraps], "unknown")
    assert (reading.diameter.value, reading.diameter.verdict) == (584, Verdict.LIKELY)
    assert reading.width.value == 50 and reading.width.nominal


def test_candidates_that_nobody_would_look_at_are_no_answer(line, found):
    """Traces of many sizes, each improbable: nothing was found, and a photo is asked for."""
    texts = ("34-622", "47-507", "37-590", "20-451", "25-571", "44-584", "32-630")
    traces = [
        replace(one, cost=4.2)
        for k, text in enumerate(texts)
        for one in found(line(text, y=90 * k, score=0.5))
    ]
    reading = answer(traces, "unknown")
    assert (reading.verdict, reading.candidates) == (Verdict.NONE, ())
    assert verdict(traces, "unknown", TABLES) is Verdict.NONE
    assert "Photograph" in reading.advice[0]
