"""Calibration file, probability and verdict."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader.errors import InputError
from reader.records import Verdict
from reader.resolve.calibration import (
    CLIP,
    MOST_LIFT,
    NAMES,
    NEAR_LETTERS,
    SIGNS,
    UNCALIBRATED,
    WEAK_COST,
    Calibration,
    Features,
    Model,
    confidence,
    judge,
    judge_seat,
    load_calibration,
    logit,
    seat_confidence,
    sigmoid,
)

ZERO = (0,) * len(NAMES)
ONE = [1, *ZERO[1:]]
KEYS = ("size", "seat")
CLEAR = Features(0.995, 5.0, 0.4, 1.0, 1.0, "pair")
GOOD = {
    "format": 2,
    "sure": 0.99,
    "likely": 0.8,
    "kinds": {"pair": {"size": {"bias": 0.5, "weights": ONE}, "seat": {"bias": 1, "weights": ONE}}},
}


def write(tmp_path, data):
    path = tmp_path / "calibration.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data))
    return path


@given(st.floats(0.001, 0.999))
def test_logit_and_sigmoid_are_inverse(probability):
    assert sigmoid(logit(probability)) == pytest.approx(probability)


def test_logit_is_clipped():
    assert (logit(0.0), logit(1.0), logit(1 - 1e-15)) == (-CLIP, CLIP, CLIP)


def test_vector_stands_in_the_order_of_the_names():
    seen = replace(CLEAR, seat=0.999, seat_gap=6.0, margin=3.0, notations=2, told=False)
    assert dict(zip(NAMES, seen.vector, strict=True)) == {
        "logit": logit(0.995),
        "gap": 5.0,
        "seat": logit(0.999),
        "seat_gap": 6.0,
        "cost": 0.4,
        "margin": 3.0,
        "places": math.log1p(1.0),
        "notations": 2.0,
        "agreement": 1.0,
        "height": 1.0,
        "told": 0.0,
        "contradiction": 0.0,
    }
    assert len(SIGNS) == len(NAMES)
    assert replace(CLEAR, gap=99.0, margin=math.inf).vector[1] == CLIP


def test_no_file_means_uncalibrated(tmp_path):
    assert load_calibration(tmp_path / "none.json") is UNCALIBRATED
    assert confidence(CLEAR, UNCALIBRATED) == CLEAR.probability


def test_reads_the_file(tmp_path):
    calibration = load_calibration(write(tmp_path, GOOD))
    assert calibration.fitted
    assert (calibration.sure, calibration.likely) == (0.99, 0.8)
    assert confidence(CLEAR, calibration) == pytest.approx(sigmoid(0.5 + logit(0.995)))
    assert confidence(replace(CLEAR, kind="name"), calibration) == CLEAR.probability
    seat = seat_confidence(replace(CLEAR, seat=0.999), calibration)
    assert seat == pytest.approx(sigmoid(1 + logit(0.995)))


def test_a_diameter_is_at_least_as_probable_as_its_size():
    seen = replace(CLEAR, seat=0.999)
    assert seat_confidence(seen, UNCALIBRATED) == 0.999
    doubtful = Calibration(seats={"pair": Model(-3.0, ZERO)}, fitted=True)
    assert seat_confidence(seen, doubtful) == CLEAR.probability


better = {
    "gap": (0.5, 6.0),
    "cost": (2.0, 0.0),
    "margin": (0.5, 6.0),
    "places": (1.0, 3.0),
    "notations": (1, 3),
    "agreement": (0.3, 1.0),
    "height": (-1.0, 2.0),
    "contradiction": (True, False),
}


def test_shipped_calibration_never_takes_better_evidence_amiss():
    """Monotone, above all in cost; holds without a shipped file as well."""
    calibration = load_calibration()
    for kind in ("pair", "name", "tube"):
        seen = replace(CLEAR, kind=kind, probability=0.9, seat=0.95, seat_gap=3.0, gap=2.0)
        for name, (worse, good) in better.items():
            for probability in (confidence, seat_confidence):
                low = probability(replace(seen, **{name: worse}), calibration)
                assert low <= probability(replace(seen, **{name: good}), calibration)
        costs = [confidence(replace(seen, cost=c / 4), calibration) for c in range(12)]
        assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize(
    "data",
    [
        "not JSON",
        "[]",
        {**GOOD, "format": 1},
        {**GOOD, "kinds": {"pair": {"size": {"bias": 0, "weights": [1, 2]}}}},
        {**GOOD, "kinds": {"pair": {"size": {"bias": 0, "weights": ONE}}}},
        {**GOOD, "kinds": {"pair": {k: {"bias": 0, "weights": [-1, *ZERO[1:]]} for k in KEYS}}},
        {**GOOD, "kinds": []},
        {k: v for k, v in GOOD.items() if k != "sure"},
    ],
)
def test_damaged_file_is_named_with_a_remedy(tmp_path, data):
    path = write(tmp_path, data)
    with pytest.raises(InputError, match="calibration.json") as caught:
        load_calibration(path)
    assert "delete it" in caught.value.remedy


def test_names_are_never_believed_more_than_the_tables_allow():
    sanguine = Calibration({"name": Model(9.0, ZERO)}, fitted=True)
    assert confidence(replace(CLEAR, kind="name", probability=0.6), sanguine) == 0.6


def test_a_doubt_is_not_overturned():
    sanguine = Calibration({"pair": Model(9.0, ZERO)}, {"pair": Model(9.0, ZERO)}, fitted=True)
    doubtful = replace(CLEAR, probability=0.4, seat=0.5)
    assert confidence(doubtful, sanguine) == pytest.approx(sigmoid(logit(0.4) + MOST_LIFT))
    assert seat_confidence(doubtful, sanguine) == pytest.approx(sigmoid(MOST_LIFT))


def test_clear_pair_is_sure():
    assert judge(CLEAR, 0.995, UNCALIBRATED) is Verdict.SURE


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "name"},
        {"kind": "tube"},
        {"memory": True},
        {"cost": 4.0},
        {"gap": 1.5},
        {"cut": True},
    ],
)
def test_without_a_clear_pair_from_a_read_source_only_likely(change):
    assert judge(replace(CLEAR, **change), 0.995, UNCALIBRATED) is Verdict.LIKELY


@pytest.mark.parametrize(
    ("probability", "verdict"),
    [(0.999, Verdict.SURE), (0.9, Verdict.LIKELY), (0.7, Verdict.CANT_TELL)],
)
def test_thresholds(probability, verdict):
    assert judge(CLEAR, probability, UNCALIBRATED) is verdict


def test_ambiguous_name_stays_open():
    name = replace(CLEAR, kind="name", probability=0.85)
    assert judge(name, 0.85, UNCALIBRATED) is Verdict.CANT_TELL


@pytest.mark.parametrize(
    ("apart", "verdict"), [(NEAR_LETTERS, Verdict.LIKELY), (NEAR_LETTERS - 0.1, Verdict.CANT_TELL)]
)
def test_a_name_whose_letters_may_name_another_diameter_stays_open(apart, verdict):
    name = replace(CLEAR, kind="name", seat=0.97, seat_gap=5.0, seat_margin=apart)
    assert judge_seat(name, 0.95, UNCALIBRATED) is verdict


def test_small_gap_stays_open():
    assert judge(replace(CLEAR, gap=0.2), 0.9, UNCALIBRATED) is Verdict.CANT_TELL


def test_contradiction_takes_one_step_down():
    contradicted = replace(CLEAR, contradiction=True)
    assert judge(contradicted, 0.999, UNCALIBRATED) is Verdict.LIKELY
    assert judge(contradicted, 0.9, UNCALIBRATED) is Verdict.CANT_TELL


def test_names_alone_against_a_pair_only_take_its_sureness():
    doubted = replace(CLEAR, contradiction=True, names_differ=True)
    assert judge(doubted, 0.999, UNCALIBRATED) is Verdict.LIKELY
    assert judge(doubted, 0.9, UNCALIBRATED) is Verdict.LIKELY
    assert judge(doubted, 0.7, UNCALIBRATED) is Verdict.CANT_TELL


def test_thresholds_come_from_the_calibration():
    strict = Calibration(sure=0.9999, likely=0.9)
    assert judge(CLEAR, 0.999, strict) is Verdict.LIKELY
    assert judge(CLEAR, 0.85, strict) is Verdict.CANT_TELL


def test_what_one_look_alone_reads_is_never_sure_and_only_told_where_it_is_clear():
    fair = replace(CLEAR, seat=0.995, seat_gap=5.0)
    lone = replace(fair, doubt="alone")
    weak = replace(lone, cost=WEAK_COST + 0.1)
    assert judge(fair, 0.995, UNCALIBRATED) is Verdict.SURE
    for one, wanted in ((lone, Verdict.LIKELY), (weak, Verdict.CANT_TELL)):
        assert judge(one, 0.995, UNCALIBRATED) is wanted
        assert judge_seat(one, 0.995, UNCALIBRATED) is wanted
