"""Markings on photographs of real parts, read from pixels (fixtures/real, credit in index.csv)."""

import csv
from pathlib import Path

import pytest

from reader.pipeline import read_files

FOLDER = Path(__file__).parents[1] / "fixtures" / "real"
ROWS = list(csv.DictReader((FOLDER / "index.csv").open(encoding="utf-8")))
LICENCES = {"MIT", "ISC", "BSD-3-Clause", "Apache-2.0", "CC BY-SA 4.0"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_a_real_marking_is_told_as_an_eye_reads_it(row):
    reading = read_files([FOLDER / row["file"]])
    if row["part"] == "car tyre":
        assert reading.kind.value == "other" and not reading.diameter.told
    elif not row["bsd"]:
        assert not reading.diameter.told
    else:
        assert reading.diameter.told and str(reading.diameter.value) == row["bsd"]
        if row["iso_size"]:
            assert reading.told_size == row["iso_size"]


def test_every_crop_has_its_credit_and_none_is_left_over():
    assert {path.name for path in FOLDER.glob("*.jpg")} == {row["file"] for row in ROWS}
    assert all(row["licence"] in LICENCES and " at " in row["credit"] for row in ROWS)
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 3_000_000
