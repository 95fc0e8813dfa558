"""Rows and kept looks of the benchmark of sweeps: written, read back, told anew."""

from pathlib import Path

import pytest

pytest.importorskip("torch")

from reader.pipeline import Settings
from reader.sweep import Clip
from reader.sweep.sweep import Sweep
from reader.train.bench import sweep_kept
from reader.train.bench.rows import Answer
from reader.train.bench.sweep import append, load, outcome, report
from reader.train.bench.sweep_read import WAYS, SweepRow
from reader.train.bench.sweep_sets import SweepCase

CLIP = Path(__file__).parents[2] / "fixtures" / "clips" / "h264.mp4"


def row(kind, number, truth, size, verdict, free=1.0):
    answers = {way: Answer(size, verdict, 0.9, 2.5) for way in WAYS}
    return SweepRow(kind, number, 7, "tyre", truth, truth, 30.0, 12, 1.2, free, answers)


def test_rows_come_back_as_they_were(tmp_path):
    rows = [row("worn", 0, "37-622", "37-622", "sure"), row("nothing", 1, "", "", "none")]
    for one in rows:
        append(tmp_path / "sweep.csv", one)
    assert load(tmp_path / "sweep.csv") == rows


@pytest.mark.parametrize(
    ("said", "end"),
    [
        (("37-622", "37-622", "sure"), "right"),
        (("37-622|40-622", "40-622", "likely"), "right"),
        (("37-622", "57-622", "sure"), "wrong, sure"),
        (("37-622", "57-622", "likely"), "wrong, told"),
        (("37-622", "37-622", "can't tell"), "can't tell"),
        (("", "57-622", "likely"), "wrong, told"),
    ],
)
def test_what_counts_as_right(said, end):
    assert outcome(row("worn", 0, *said), "sweep") == end


def test_the_report_counts_what_the_lamp_covers(tmp_path):
    for number, free in enumerate((1.0, 0.5, 1.0)):
        append(tmp_path / "s.csv", row("glare", number, "37-622", "37-622", "sure", free))
    text = report(tmp_path / "s.csv")
    assert "| glare | 3 | 3 (100 %) |" in text
    assert "In 1 of the 3 clips with glare" in text and "of the 2 others 2 were told" in text


def test_kept_looks_tell_the_same_size_again(tmp_path):
    sweep = Sweep(Settings(engines=("moulded",)))
    for frame in Clip(CLIP):
        sweep.add(frame.pixels, frame.seconds)
    told = sweep.finish()
    kept = sweep_kept.packed(sweep, SweepCase("fit", "worn", 3), "40-622")
    for _ in range(2):
        sweep_kept.append(tmp_path, kept)
    first, second = sweep_kept.load(tmp_path)
    assert first["case"] == second["case"] == SweepCase("fit", "worn", 3)
    assert sweep_kept.told_again(first).best.size == told.best.size


def test_a_full_file_is_followed_by_another(tmp_path, monkeypatch):
    monkeypatch.setattr(sweep_kept, "LARGEST", 10)
    for _ in range(3):
        sweep_kept.append(tmp_path, b"12345678")
    assert [file.name for file in sweep_kept.files_of(tmp_path)] == [
        f"kept-{number}.bin" for number in range(3)
    ]
