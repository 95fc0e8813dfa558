"""What a sweep has read survives as bytes: the same answer again, and beside a still."""

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from reader.errors import InputError
from reader.pipeline import Settings, read_files
from reader.resolve.resolve import resolve
from reader.sweep import read_clips
from reader.sweep.remember import recall, remember
from reader.tables import load_tables

ROOT = Path(__file__).parents[2]
OURS = Settings(engines=("moulded",))


@pytest.fixture(scope="module")
def swept():
    return read_clips([ROOT / "fixtures" / "clips" / "h264.mp4"], ["sweep.mp4"], settings=OURS)


def told(markings):
    return resolve(markings, "unknown", load_tables())


def test_the_same_answer_comes_from_what_is_remembered(swept):
    data = remember(swept.markings)
    assert len(data) < 200_000
    before, after = told(swept.markings), told(recall(data, "sweep.mp4"))
    assert after.best.size == before.best.size == swept.best.size
    assert after.verdict == before.verdict
    assert after.best.probability == pytest.approx(before.best.probability, abs=0.02)


def test_a_still_is_weighed_beside_it(swept):
    still = read_files([ROOT / "samples" / "decal-207.jpg"], settings=OURS)
    both = told([*recall(remember(swept.markings), "sweep.mp4"), *still.markings])
    alone = {still.best.size.bsd, swept.best.size.bsd}
    assert {candidate.size.bsd for candidate in both.candidates} & alone
    assert both.photos == ("sweep.mp4", "decal-207.jpg")


def test_markings_without_a_place_are_left_out(swept):
    loose = [replace(marking, hypothesis=None) for marking in swept.markings]
    assert recall(remember(loose), "x") == ()


@pytest.mark.parametrize(
    "data", [b"", b"PK\3\4 no", pickle.dumps({"told": 1}), bytes(5_000_000)], ids=len
)
def test_damaged_bytes_are_refused_in_a_line(data):
    with pytest.raises(InputError, match="damaged"):
        recall(data, "x")


def test_bytes_cut_anywhere_are_refused(swept):
    data = remember(swept.markings)
    for end in np.linspace(0, len(data) - 1, 23).astype(int):
        with pytest.raises(InputError):
            recall(data[:end], "x")
