"""The calibration fit on simulated answers, with scikit-learn as the outside check."""

from __future__ import annotations

import json

import numpy as np
import pytest
from sklearn.calibration import calibration_curve
from sklearn.linear_model import LogisticRegression

from reader.errors import InputError
from reader.resolve.calibration import (
    CLIP,
    NAMES,
    SIGNS,
    Features,
    confidence,
    load_calibration,
    sigmoid,
)
from reader.train.calibrate.fit import (
    COLUMNS,
    Answers,
    calibrate,
    eligible,
    fit,
    fit_logistic,
    main,
    predict,
    read_answers,
    write_answers,
)
from reader.train.calibrate.reliability import bins, calibration_error, draw, threshold


def simulated(count=4000, seed=0, kind="pair"):
    """Answers whose raw belief is too sure: the true log-odds are 0.7 of it."""
    rng = np.random.default_rng(seed)
    raw = rng.normal(4, 4, count).clip(-CLIP, CLIP)
    features = np.zeros((count, len(NAMES)))
    features[:, 0] = raw
    features[:, 1] = raw
    features[:, NAMES.index("seat")] = raw
    features[:, NAMES.index("cost")] = rng.uniform(0, 2, count)
    features[:, NAMES.index("agreement")] = rng.uniform(0, 1, count)
    truth = np.array([sigmoid(0.7 * value) for value in raw])
    right = (rng.uniform(size=count) < truth).astype(float)
    return Answers(features, np.array([kind] * count), right, right)


def test_fit_mends_an_overconfident_belief():
    answers = simulated()
    models = fit(answers)
    fresh = simulated(seed=1)
    before = calibration_error(predict({}, fresh), fresh.right)
    after = calibration_error(predict(models, fresh), fresh.right)
    assert before > 0.025
    assert after < 0.02
    assert sum(models["pair"].weights[:3]) == pytest.approx(0.7, abs=0.06)


def test_bins_agree_with_scikit_learn():
    """Reference: sklearn.calibration.calibration_curve, quantile bins."""
    answers = simulated()
    said = predict(fit(answers), answers)
    found, expected = calibration_curve(answers.right, said, n_bins=10, strategy="quantile")
    ours = np.array(bins(said, answers.right))
    assert ours[:, 0] == pytest.approx(expected, abs=2e-3)
    assert ours[:, 1] == pytest.approx(found, abs=1e-2)


def test_fit_agrees_with_scikit_learn():
    """Reference: sklearn.linear_model.LogisticRegression on the same standardised columns."""
    answers = simulated(3000)
    columns = answers.features[:, [0, 4, 8]]
    scaled = (columns - columns.mean(axis=0)) / columns.std(axis=0)
    expected = LogisticRegression(C=1.0).fit(scaled, answers.right)
    found = fit_logistic(columns, answers.right, (0, 0, 0))
    weights = np.array(found.weights) * columns.std(axis=0)
    assert weights == pytest.approx(expected.coef_[0], abs=0.02)
    ours = np.array([sigmoid(found.bias + float(row @ found.weights)) for row in columns])
    assert ours == pytest.approx(expected.predict_proba(scaled)[:, 1], abs=0.005)


def test_weights_keep_their_signs():
    answers = simulated(500)
    answers.features[:, NAMES.index("cost")] = 2 * answers.right  # as if dear readings were right
    model = fit(answers)["pair"]
    assert model.weights[NAMES.index("cost")] == 0
    assert all(weight * sign >= 0 for weight, sign in zip(model.weights, SIGNS, strict=True))


def test_kinds_with_few_answers_stay_raw():
    assert fit(simulated(50)) == {}


def test_answers_that_were_all_right_are_not_certain():
    answers = simulated(200)
    right = Answers(answers.features, answers.kind, np.ones(200), np.ones(200))
    assert predict(fit(right), right).max() <= 201 / 202 + 1e-3


def test_names_are_held_to_the_raw_belief():
    answers = simulated(kind="name")
    said = predict(fit(answers), answers)
    raw = np.array([sigmoid(value) for value in answers.features[:, 0]])
    assert (said <= raw + 1e-9).all()


def test_threshold_keeps_its_promise_and_is_not_bold():
    said = np.linspace(1, 0, 1000)
    right = (np.arange(1000) < 500).astype(float)
    at = threshold(said, right, 0.99, 0.0)
    assert right[said >= at].mean() >= 0.99
    assert threshold(np.ones(5), np.ones(5), 0.99, 0.5) > 1  # five right ones prove little
    assert threshold(np.zeros(0), np.zeros(0), 0.99, 0.5) > 1
    assert threshold(np.full(400, 0.7), np.ones(400), 0.99, 0.9) == 0.9


def test_only_clear_pairs_are_eligible_for_sure():
    features = np.zeros((4, len(NAMES)))
    features[:, NAMES.index("gap")] = (5, 1, 5, 5)
    features[:, NAMES.index("cost")] = (0.5, 0.5, 4, 0)
    answers = Answers(features, np.array(["pair", "pair", "pair", "name"]), np.ones(4), np.ones(4))
    assert eligible(answers).tolist() == [True, False, False, False]


def test_sure_means_99_of_100_on_fresh_answers():
    data, checked = calibrate(simulated(8000), "simulated")
    fresh = simulated(8000, seed=5)
    said = predict(fit(simulated(8000)), fresh)
    sure = eligible(fresh) & (said >= data["sure"])
    assert sure.sum() > 100
    assert fresh.right[sure].mean() >= 0.985
    counts = checked.counts(data["sure"], data["likely"])
    assert [name for name, _, _ in counts] == ["sure", "likely", "can't tell"]
    assert sum(count for _, count, _ in counts) == 8000
    assert counts[0][2] <= 0.015 * counts[0][1]


def seen_as(row):
    told = dict(zip(NAMES, row, strict=True))
    return Features(
        sigmoid(told["logit"]),
        told["gap"],
        told["cost"],
        0.0,
        told["agreement"],
        "pair",
        seat=sigmoid(told["seat"]),
        margin=0.0,
        notations=0,
        height=0.0,
        told=False,
    )


def test_written_file_is_read_back_by_the_package(tmp_path):
    out, csv = tmp_path / "calibration.json", tmp_path / "answers.csv"
    answers = simulated(600)
    write_answers(
        csv,
        (
            (seen_as(row), bool(right), bool(right))
            for row, right in zip(answers.features, answers.right, strict=True)
        ),
    )
    again = read_answers(csv)
    assert again.features == pytest.approx(answers.features, abs=1e-6)
    main([str(csv), "--out", str(out)])
    calibration = load_calibration(out)
    assert calibration.fitted
    assert json.loads(out.read_text())["fitted_on"] == "answers.csv"
    model = fit(again)
    seen = Features(0.99, 4.0, 0.5, 1.0, 1.0, "pair")
    row = Answers(np.array([seen.vector]), np.array(["pair"]), np.ones(1), np.ones(1))
    assert confidence(seen, calibration) == pytest.approx(predict(model, row)[0], abs=1e-3)
    assert "600 answers" in out.with_suffix(".md").read_text()
    assert out.with_suffix(".png").read_bytes().startswith(b"\x89PNG")


def test_plot_of_few_answers(tmp_path):
    draw(tmp_path / "few.png", np.array([0.5, 0.9]), np.array([0.0, 1.0]))
    assert (tmp_path / "few.png").exists()


@pytest.mark.parametrize("text", ["", "logit,kind\n1,pair\n", ",".join(COLUMNS)])
def test_unusable_answers_are_named(tmp_path, text):
    path = tmp_path / "answers.csv"
    path.write_text(text)
    with pytest.raises(InputError, match="answers.csv"):
        read_answers(path)
    with pytest.raises(InputError, match=r"none\.csv"):
        read_answers(tmp_path / "none.csv")
