"""Fitting weights and lines to evidence of known truth; names alone and clutter as reports."""

import json
from dataclasses import replace

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from reader.markings import parse_text
from reader.resolve.calibration import sigmoid
from reader.resolve.weights import JUDGED
from reader.tables import load_tables
from reader.train.bench import alone, clutter
from reader.train.calibrate import lines, weigh
from reader.train.calibrate.collect import FIRST_SEED, FIRST_SET_SEED, Kept, append
from reader.train.render.batch import Facts, Job

TABLES = load_tables()


def kept(text, truth, part="tyre", k=0):
    job = Job("printed", (FIRST_SEED + k,), False)
    return Kept(job, (Facts(truth, part, 30.0, 0.9),), tuple(parse_text(text)), 1.0)


def some(count=12):
    texts = ["47-507", "28-622 700x28C", "26x1.75", "27x1 1/4", "50-85 PSI", "622x19C"]
    made = []
    for k in range(count):
        text = texts[k % len(texts)]
        nothing = "PSI" in text
        part = "none" if nothing else "rim" if text == "622x19C" else "tyre"
        made.append(kept(text, "" if nothing else text, part, k))
    return made


def test_loss_is_small_where_the_truth_is_believed():
    right, wrong = weigh.cases([kept("47-507", "47-507"), kept("47-507", "47-559")], TABLES)
    assert weigh.loss(right, TABLES, JUDGED) < 0.3 < weigh.loss(wrong, TABLES, JUDGED)
    nothing = weigh.cases([kept("MADE SOMEWHERE", "", "none")], TABLES)[0]
    assert weigh.loss(nothing, TABLES, JUDGED) == pytest.approx(0, abs=0.01)


def test_fit_never_ends_worse_than_it_began_and_writes_a_card(tmp_path):
    path, out = tmp_path / "evidence.bin", tmp_path / "resolver.json"
    append(path, some())
    weigh.main([str(path), "--passes", "1", "--seconds", "3", "--out", str(out)])
    data = json.loads(out.read_text())
    assert data["format"] == 1 and set(data["weights"]) == set(weigh.MOVES)
    card = out.with_suffix(".md").read_text()
    assert "| judged |" in card and "| fitted |" in card and "8 drawn parts" in card
    fitting = weigh.cases(some(6), TABLES)
    better = weigh.fit(fitting, TABLES, 1, 1e18)
    before, after = (
        weigh.mean_loss(fitting, TABLES, one) + weigh.pull(one, len(fitting))
        for one in (JUDGED, better)
    )
    assert after <= before


def test_a_line_is_the_logistic_regression_of_a_reference_library():
    """scikit-learn's, whose penalty pulls the slope to 0: with many answers both vanish."""
    rng = np.random.default_rng(2)
    raw = rng.uniform(0.02, 0.98, 20_000)
    odds = np.log(raw / (1 - raw))
    right = (rng.uniform(size=len(raw)) < [sigmoid(0.3 + 0.6 * x) for x in odds]).astype(float)
    line = lines.fit_line(raw, right)
    reference = LogisticRegression(C=1e6).fit(odds[:, None], right)
    assert line.slope == pytest.approx(reference.coef_[0, 0], abs=0.01)
    assert line.bias == pytest.approx(reference.intercept_[0], abs=0.01)


def test_few_answers_move_no_line():
    made = [lines.Answered("name", 0.9, True, 0.9, True, 0.9, True)] * (lines.FEWEST - 1)
    assert lines.fit_all(made, "width") == ({}, [])


def test_reports_count_right_and_wrong(tmp_path):
    path = tmp_path / "alone.bin"
    parts = [kept("26x1.75", "26x1.75"), kept("27x1 1/4", "26x1.75", k=1), kept("", "26x1")]
    named = [
        replace(one, job=replace(one.job, text=one.facts[0].truth, seeds=(FIRST_SET_SEED + k,)))
        for k, one in enumerate(parts)
    ]
    append(path, [*named, kept("47-507", "47-507")])
    text = alone.table(alone.answers(weigh.load(path)))
    assert "| legible, tables agree | 2 | 1 (" in text and text.count("WRONG") == 1
    assert "| legible, tables differ | 1 | 0 (" in text
    none = [("charts", f"{k}.png", tuple(parse_text("80 PSI"))) for k in range(6)]
    assert len(clutter.apart(none)) == 4 and len(clutter.to_fit(none)) == 2
    assert "| none | 4 |" in clutter.table(clutter.apart(none))
