"""The table of the speed benchmark, and a process that loads and reads a file."""

from pathlib import Path

import pytest

pytest.importorskip("torch")

from reader.train.bench.speed import CUT, Took, measure, report

SAMPLE = Path(__file__).parents[2] / "samples" / "printed-120.jpg"


def test_the_table_parts_cut_photos_from_whole_ones():
    took = [
        Took("whole wheel, printed", 1.0, 300.0, "sure"),
        Took("whole wheel, printed", 3.0, 400.0, "none"),
        Took(CUT, 0.2, 350.0, "likely"),
    ]
    text = report(took)
    assert "| whole wheel, printed | 2 | 1 | 2.00 | 3.00 |" in text
    assert f"| {CUT} | 1 | 1 | 0.20 | 0.20 | 0.6 |" in text
    assert "400 MB" in text


def test_a_file_is_loaded_and_read(monkeypatch):
    monkeypatch.setattr("os.sched_setaffinity", lambda *_: None, raising=False)
    (took,) = measure([("a sample", SAMPLE)])
    assert took.verdict == "sure" and took.seconds > 0 and took.memory > 10
