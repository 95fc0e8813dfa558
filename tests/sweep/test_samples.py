"""The shipped clips: labels and files agree, and each is told as its label says."""

import csv
from pathlib import Path

import pytest

from reader.pipeline import Settings
from reader.sweep import read_clips

FOLDER = Path(__file__).parents[2] / "samples" / "sweeps"
LABELS = list(csv.DictReader((FOLDER / "labels.csv").open(encoding="utf-8")))


def test_labels_and_files_are_the_same():
    files = sorted(path.name for path in FOLDER.glob("*.mp4"))
    assert sorted(row["file"] for row in LABELS) == files
    assert all((FOLDER / name).stat().st_size <= 1_500_000 for name in files)


@pytest.mark.parametrize("row", LABELS, ids=lambda row: row["file"])
def test_a_sample_clip_is_told_as_its_label_says(row):
    reading = read_clips([FOLDER / row["file"]], [row["file"]], settings=Settings(("moulded",)))
    assert row["iso_size"] == row["read"] == str(reading.best.size)
    assert str(reading.verdict) == row["verdict"]
