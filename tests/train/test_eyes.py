"""Pages for reading by eye: lines laid straight, what was read hidden, readings scored."""

import csv
from dataclasses import replace

import cv2
import numpy as np
import pytest

pytest.importorskip("torch")

from reader.train.bench import by_eye as eyes
from reader.train.bench.rows import ENGINES, OURS, Answer, Row


def row(number, told, kind="worn"):
    answers = {engine: Answer("47-507", "sure", 0.9, 1.5) for engine in ENGINES}
    answers[OURS] = replace(answers[OURS], verdict="sure" if told else "can't tell")
    return Row(kind, number, 1, 1, "tyre", "47-507", "47-507", 0.5, 30.0, "", answers)


def test_a_slanting_line_is_laid_straight():
    picture = np.full((300, 400, 3), 90, np.uint8)
    corners = np.array([[60, 60], [300, 160], [285, 196], [45, 96]], np.float32)
    cv2.fillConvexPoly(picture, corners.astype(np.int32), (200, 200, 200))
    seen = eyes.strip(picture, corners)
    plain = seen[: len(seen) // 2]
    cap = len(plain) / (1 + 2 * eyes.AROUND[1])
    middle = plain[round(1.75 * cap) : round(2.25 * cap)]
    beside = round(eyes.AROUND[0] * cap)
    assert middle[:, beside + 9 : -beside - 9].min() > 200  # the line fills its place, end to end
    assert middle[:, : beside - 9].max() < 60 and middle[:, 9 - beside :].max() < 60
    assert seen.shape[1] <= eyes.WIDE


def test_all_that_was_missed_is_shown_among_some_that_were_read():
    rows = [row(number, number % 3 == 0) for number in range(30)] + [row(0, False, "tiny")]
    chosen = eyes.choose(rows, ["worn"], 4)
    assert sorted(one.number for one in chosen if not eyes.known(one)) == [
        number for number in range(30) if number % 3
    ]
    assert sum(eyes.known(one) for one in chosen) == 4
    known = [eyes.known(one) for one in chosen]
    assert known != sorted(known), "the order would tell which were read"


def test_readings_are_scored_by_the_pattern_of_the_truth(tmp_path):
    lines = [
        (1, "worn", 0, False, 0.2, "tyre", "47-507"),
        (2, "worn", 1, False, 0.2, "tyre", "37-622"),
        (3, "worn", 2, True, 0.2, "tyre", "28-622"),
        (4, "decal", 3, False, 0.2, "rim", "19-622"),
        (5, "decal", 4, False, 0.2, "rim", "19-559"),
    ]
    with (tmp_path / "key.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([eyes.COLUMNS, *lines])
    readings = tmp_path / "readings.csv"
    readings.write_text(
        'number,text\n1,24 x 1.75 47-507\n2,32-622\n3,28 - 622\n4,"622 x 19C, ERD 600"\n5,\n'
    )
    table = eyes.score(tmp_path, readings)
    assert "| decal | missed by the tool | 2 | 1 | 0 | 1 |" in table
    assert "| worn | missed by the tool | 2 | 1 | 1 | 0 |" in table
    assert "| worn | read by the tool | 1 | 1 | 0 | 0 |" in table
