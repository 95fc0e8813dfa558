"""Thresholds of the three answers, and what is asked and said where they are not reached."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from seen import line

from reader.errors import InputError
from reader.markings import find_all
from reader.records import Verdict
from reader.resolve.calibration import (
    NAMES,
    UNCALIBRATED,
    Calibration,
    Features,
    Line,
    judge,
    judge_seat,
    load_calibration,
    width_confidence,
)
from reader.resolve.resolve import resolve
from reader.tables import load_tables

TABLES = load_tables()
CLEAR = Features(0.995, 5.0, 0.4, 1.0, 1.0, "pair", seat=0.999, seat_gap=6.0, width=0.5)


def read(*texts, part="unknown", calibration=None):
    lines = [line(text, y=120 * k) for k, text in enumerate(texts)]
    marks = [m for one in lines for m in find_all(one)]
    return resolve(marks, part, TABLES, calibration=calibration)


def test_a_near_rival_leaves_it_open_however_probable():
    near = replace(CLEAR, seat_gap=0.5, gap=0.5)
    assert judge_seat(near, 0.999, UNCALIBRATED) is Verdict.CANT_TELL
    assert judge(near, 0.999, UNCALIBRATED) is Verdict.CANT_TELL
    assert judge_seat(CLEAR, 0.5, UNCALIBRATED) is Verdict.CANT_TELL
    assert judge_seat(CLEAR, 0.999, UNCALIBRATED) is Verdict.SURE
    assert judge_seat(CLEAR, 0.9, UNCALIBRATED) is Verdict.LIKELY


def test_a_width_is_told_by_the_line_of_its_own_kind():
    """Platt's model: probability 1 / (1 + exp(-bias)) where the slope is nought."""
    low = replace(CLEAR, probability=0.01)
    told = Calibration(widths={"pair": Line(2.0, 0.0), "name": Line(-2.0, 0.0)})
    assert width_confidence(low, told) == pytest.approx(0.8808, abs=1e-4)
    assert width_confidence(replace(low, kind="name"), told) == pytest.approx(0.1192, abs=1e-4)
    assert width_confidence(replace(low, kind="tube"), told) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("bias", "verdict"), [(6.0, Verdict.SURE), (3.6, Verdict.LIKELY), (0.0, Verdict.CANT_TELL)]
)
def test_the_kind_of_part_has_a_verdict_of_its_own(bias, verdict):
    calibration = Calibration(parts={"pair": Line(bias, 0.0)})
    reading = read("25-622", "32H", calibration=calibration)
    assert reading.kind.verdict is verdict


def test_a_weight_of_the_wrong_sign_is_named(tmp_path):
    model = {"bias": 0.0, "weights": [-1.0, *[0.0] * (len(NAMES) - 1)]}
    kinds = {"pair": {"size": model, "seat": model}}
    path = tmp_path / "calibration.json"
    path.write_text(json.dumps({"format": 2, "sure": 0.99, "likely": 0.8, "kinds": kinds}))
    with pytest.raises(InputError, match="a weight has the wrong sign"):
        load_calibration(path)


def test_pairs_of_one_part_contradict_each_other_and_others_do_not():
    assert read("37-622", "47-622").contradictions
    assert read("37-622", "37-559").contradictions
    assert not read("37-622", "622x19C").contradictions
    assert not read("28-622", "700x28C").contradictions
    assert not read("37-622", "700x35C").contradictions


def test_a_pair_that_may_be_either_asks_which():
    advice = " ".join(read("25-622").advice)
    assert "tyre or a rim" in advice and "on a tyre 25 mm is the tyre's width" in advice
    assert "on a rim the inner width" in advice


def test_nothing_but_a_cut_marking_asks_for_all_of_it():
    (marking, *_) = find_all(line("37-622"))
    cut = replace(marking, cut=True, cost=3.0, notation="tube", numbers={"bsd_mm": 999})
    assert any("edge" in one for one in resolve([cut], "tyre", TABLES).advice)
    assert not any("edge" in one for one in resolve([], "tyre", TABLES).advice)
