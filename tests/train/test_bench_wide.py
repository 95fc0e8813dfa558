"""The benchmark of whole wheels and busy walls: its seeds, its table, and where reading ended."""

from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("torch")

from reader.records import Photo, Region
from reader.train.bench import sets
from reader.train.bench.wide import Trial, _lies_on, append, load
from reader.train.bench.wide_report import report
from reader.train.bench.wide_shots import KINDS, Wide

TRIAL = Trial(
    KINDS[0], 0, "47-507", "47-507", 0.4, 15.0, 40, "told", "47-507", "sure", 507, True, 1.5, False
)


def test_no_two_photographs_share_a_seed_nor_one_with_the_other_benchmark():
    seeds = {Wide(kind, number).seed for kind in KINDS for number in range(100)}
    assert len(seeds) == len(KINDS) * 100
    taken = sets.FIRST_SEED + sets.SEEDS_A_KIND * len(sets.KINDS)
    assert taken <= min(seeds) and max(seeds) + 99 < 1_800_000


def test_rows_come_back_and_a_row_cut_short_is_left_out(tmp_path):
    path = tmp_path / "wide.csv"
    append(path, TRIAL)
    append(path, replace(TRIAL, number=1, spent=True))
    with path.open("a") as file:
        file.write("whole wheel, moulded,2,47")
    assert load(path) == [TRIAL, replace(TRIAL, number=1, spent=True)]


def test_the_table_counts_right_wrong_and_where_reading_ended():
    missed = replace(TRIAL, number=1, stage="not read", bsd=0, right=False, clarity=0.1)
    wrong = replace(TRIAL, number=2, bsd=559, right=False)
    text = report([TRIAL, missed, wrong])
    assert f"| {KINDS[0]} | 3 | 1 | 1 | 2 | 1 | 1 | 1 | 40 | 1.50 | 1.50 | 0 |" in text
    assert f"| {KINDS[0]} | 0 | 1 | 0 |" in text
    assert "| 14 to 17 | 1 of 3 | 0 of 0 |" in text


def test_a_found_line_runs_along_the_size_line_at_about_its_height():
    photo = Photo("drawn", np.zeros((100, 300, 3), np.uint8))
    outline = np.array([[50, 40], [250, 40], [250, 60], [50, 60]], np.float32)
    along = np.array([[40, 52], [150, 51], [260, 49]], np.float32)
    assert _lies_on(Region(photo, along, 22.0), outline, 20.0)
    assert not _lies_on(Region(photo, along, 60.0), outline, 20.0)
    assert not _lies_on(Region(photo, along[:2], 22.0), outline, 20.0)
    assert not _lies_on(Region(photo, along + [0, 20], 22.0), outline, 20.0)
