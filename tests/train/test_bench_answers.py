"""The report on the three answers."""

import pytest
from sklearn.calibration import calibration_curve

from reader.train.bench import answers
from reader.train.bench.answers import Told
from reader.train.calibrate.collect import REPORTED_SET_SEED, append, group
from tests.train.test_weigh import some


def test_calibration_error_is_that_of_a_reference_library():
    """scikit-learn's calibration_curve with bins of equal count, weighted by their size."""
    import numpy as np

    rng = np.random.default_rng(5)
    said = rng.uniform(size=1000)
    true = rng.uniform(size=1000) < said**2
    told = [Told(True, False, p, bool(t)) for p, t in zip(said, true, strict=True)]
    share, mean = calibration_curve(true, said, n_bins=10, strategy="quantile")
    assert answers.calibration_error(told) == pytest.approx(np.abs(share - mean).mean(), abs=0.005)


def test_report_counts_told_and_wrong(tmp_path):
    path, out = tmp_path / "reported.bin", tmp_path / "answers.md"
    append(path, some(6))
    answers.main([str(path), "--out", str(out)])
    text = out.read_text()
    assert "6 drawn parts, 5 of them\nwith a size" in text
    assert "| printed | 6 | " in text and "| kind of part |" in text


def test_families_are_known_by_their_seeds():
    from dataclasses import replace

    one = some(1)[0]
    job = replace(one.job, text="26x1.75", seeds=(REPORTED_SET_SEED + 20_003,))
    assert group(replace(one, job=job)) == "rim name"
