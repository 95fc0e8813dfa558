"""What competes for one place, and what stands side by side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reader.markings import parse_text
from reader.records import Marking
from reader.resolve.rivals import gather
from reader.resolve.weights import load_weights


def texts(places):
    return [[look.best.text for look in place.looks] for place in places]


def test_two_notations_of_the_same_letters_are_rivals(line, found):
    (place,) = gather(found(line("25-622")))
    assert {m.notation for m in place.looks[0].markings} == {"iso_pair", "rim"}
    assert place.photo == "side.jpg"


def test_markings_side_by_side_are_two_places(line, found):
    assert texts(gather(found(line("28-622 700x28C")))) == [["28-622"], ["700x28C"]]


def test_engines_that_read_the_same_line_share_a_place(line, found):
    places = gather(found(line("47-507"), line("47-547", engine="tesseract", y=4)))
    assert texts(places) == [["47-507", "47-547"]]
    assert places[0].best.text == "47-507"


def test_lines_apart_and_photos_apart_are_different_places(line, found):
    far = found(line("47-507"), line("47-507", y=80), line("47-507", photo="other.jpg"))
    assert len(gather(far)) == 3


def test_overlapping_regions_of_one_line_share_a_place(line, found):
    # The second region begins 100 pixels later, as an overlapping tile does.
    both = found(line("MADE 47-507"), line("47-507 MAX", x=100))
    assert texts(gather(both)) == [["47-507", "47-507"]]


def test_same_text_in_the_same_line_is_one_place_though_placed_roughly(line, found):
    shifted = found(line("47-507 XXXXXXXXXX"), line("XXXXXXXXXX 47-507", engine="tesseract"))
    assert len(gather(shifted)) == 1
    other = found(line("47-507 XXXXXXXXXX"), line("XXXXXXXXXX 47-559", engine="tesseract"))
    assert len(gather(other)) == 2


@pytest.mark.parametrize(("x", "looks"), [(-90, [2]), (-120, [1, 1])])
def test_a_marking_on_a_third_of_anothers_letters_is_its_rival(line, found, x, looks):
    # One look loses the last digit and sees three too many before: both can't be right.
    worn = found(line("40-457"), line("507X40", x=x))
    assert [len(place.looks) for place in gather(worn)] == looks


def test_one_hypothesis_never_looks_twice_at_a_place(line, found):
    twice = found(line("47-507 47-507"), line("47-507 47-507", engine="tesseract"))
    assert texts(gather(twice)) == [["47-507", "47-507"]] * 2


def test_letters_are_placed_by_their_frames_where_these_are_known(line, found):
    alphabet = "0123456789-X "
    logs = np.full((100, 14), -9.0, np.float32)
    logs[:, 0] = -0.01
    for frame, letter in zip(range(60, 84, 4), "47-507", strict=True):
        logs[frame, 0] = -9
        logs[frame, 1 + alphabet.index(letter)] = -0.01
    late = line("47-507", log_probs=logs, alphabet=alphabet)
    (place,) = gather(found(late))
    assert place.looks[0].track.line[0, 0] == pytest.approx(0.60 * 120)
    assert place.looks[0].track.line[-1, 0] == pytest.approx(0.81 * 120)


def test_span_beyond_the_frames_letters_falls_back_to_the_text(line, found):
    logs = np.array([[-0.1, -3.0]], np.float32)
    (place,) = gather(found(line("47-507", log_probs=logs, alphabet="1")))
    assert place.looks[0].track.line[-1, 0] == pytest.approx(120)


def test_engine_doubt_raises_the_cost(line, found):
    (sure,) = gather(found(line("47-507", score=1.0)))
    (unsure,) = gather(found(line("47-507", score=0.3)))
    (other,) = gather(found(line("47-507", score=1.0, engine="tesseract")))
    empty = np.zeros((0, 2), np.float32)
    (frames,) = gather(found(line("47-507", score=0.3, log_probs=empty, alphabet="1")))
    assert sure.best.cost == pytest.approx(0.3)
    assert unsure.best.cost == pytest.approx(0.3 - np.log(0.3))
    assert other.best.cost == pytest.approx(0.7)
    assert frames.best.cost == pytest.approx(-np.log(0.3) * load_weights().score)


def test_what_is_cleanly_something_else_is_hardly_a_size(line):
    hypothesis = line("50-85 MAX", score=1.0)
    size = Marking("iso_pair", "50-85", {"width_mm": 50, "bsd_mm": 622}, (0, 5), 0.0, hypothesis)
    pressure = Marking("pressure", "50-85 PSI", {}, (0, 9), 0.0, hypothesis)
    assert gather([size])[0].best.cost == pytest.approx(0.3)
    assert gather([size, pressure])[0].best.cost == pytest.approx(0.3 + load_weights().decoy)
    assert gather([size, replace(pressure, cost=2.0)])[0].best.cost == pytest.approx(0.3)


def test_hopeless_readings_make_no_place(line, found):
    (marking,) = found(line("700x28C"))
    assert gather([replace(marking, cost=9.0)]) == ()
    assert gather([]) == ()


def test_evidence_without_photo_stands_alone(line, found):
    typed = parse_text("28-622 700x28C")
    assert len(gather(typed)) == 2
    assert gather(typed)[0].photo == ""
    loose = [replace(line("47-507"), strip=None), replace(line("47-507"), strip=None)]
    assert len(gather(found(*loose))) == 2


def test_region_of_a_single_point_is_no_trouble(line, found):
    odd = line("47-507")
    point = replace(odd.strip.region, centreline=np.zeros((1, 2), np.float32))
    odd = replace(odd, strip=replace(odd.strip, region=point))
    assert len(gather(found(odd))) == 1


EMPTY = np.zeros((1, 2), np.float32)  # an engine that gives letter probabilities


@pytest.mark.parametrize(
    ("seen", "notation", "text", "numbers"),
    [
        ("32-", "iso_pair", "32-622", {"width_mm": 32, "bsd_mm": 622}),
        ("7000", "french", "700C", {"diameter_mm": 700, "width_mm": 0, "letter": "C"}),
        ("MAX 550 B", "french", "550B", {"diameter_mm": 550, "width_mm": 0, "letter": "B"}),
    ],
)
def test_what_was_not_read_costs_more(line, seen, notation, text, numbers):
    """A completion, a scale's 7000 and a pressure are no size that stands there."""
    hypothesis = line(seen, score=1.0, log_probs=EMPTY, alphabet="1")
    whole = line(text, score=1.0, log_probs=EMPTY, alphabet="1")
    marking = Marking(notation, text, numbers, (0, len(text)), 0.3)
    guessed, read = (
        gather([replace(marking, span=(0, len(one.text)), hypothesis=one)])[0].best.cost
        for one in (hypothesis, whole)
    )
    assert guessed >= read + 2.0
    assert read == pytest.approx(0.3, abs=load_weights().lone + 0.01)


def test_a_times_sign_is_the_letter_that_stands_for_it(line):
    numbers = {"diameter_in": 27.5, "width_in": 2, "width_text": "2.00"}
    seen = line("27.5×2.00", score=1.0, log_probs=EMPTY, alphabet="1")
    marking = Marking("inch_decimal", "27.5X2.00", numbers, (0, 9), 0.0, seen)
    assert gather([marking])[0].best.cost <= load_weights().lone


def test_a_number_before_a_unit_is_no_size(line):
    """As drawn: 35-55 P.S.I. read as 37-355 P.S.I., which would be a size."""
    numbers = {"width_mm": 37, "bsd_mm": 355}
    plain, pressure = (
        gather([Marking("iso_pair", "37-355", numbers, (0, 6), 0.0, line(text, score=1.0))])
        for text in ("37-355 TOUR", "37-355 P.S.I.")
    )
    assert pressure[0].best.cost == pytest.approx(plain[0].best.cost + load_weights().decoy)
    dated = Marking("inch_fraction", "20X1", {"diameter_in": 20}, (0, 4), 0.0)
    costs = [
        gather([replace(dated, hypothesis=line(text, score=1.0))])[0].best.cost
        for text in ("20X1 BMX", "20X1-06-29 1149")  # 2011-06-29 on a screen
    ]
    assert costs[1] == pytest.approx(costs[0] + load_weights().decoy)


def test_misread_pressure_is_no_read_pair(line, found):
    """A fragment at a low score holds no clear name back."""
    from reader.resolve.likelihood import Weigher
    from reader.tables import load_tables

    clear = found(line("27X1 1/8", score=1.0))
    scrap = Marking(
        "iso_pair",
        "57-400",
        {"width_mm": 57, "bsd_mm": 400},
        (0, 6),
        0.7,
        line("57-407", y=200, score=0.56),
    )
    places = gather([*clear, scrap])
    made = Weigher(places, "tyre", load_tables(), "world")
    table = made.weigh(places).sum(axis=0)
    best = made.headings[int(table.argmax())]
    assert best.size.bsd == 630
