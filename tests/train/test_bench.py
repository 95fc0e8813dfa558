"""The benchmark: frozen sets, truth taken from the text, rows that survive, the report."""

import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("torch")

from reader.errors import InputError
from reader.records import Verdict
from reader.tables import load_tables
from reader.train.bench import accuracy as bench
from reader.train.bench import lines as bench_lines
from reader.train.bench import read as bench_read
from reader.train.bench import rows as bench_rows
from reader.train.bench.lines import LineRow, measure
from reader.train.bench.plots import binned
from reader.train.bench.report import write_report
from reader.train.bench.rows import ENGINES, OURS, Answer, Row
from reader.train.bench.sets import EMPTY, KINDS, SEVERAL, Case, size_line, spelled
from reader.train.calibrate import collect as answers
from reader.train.render.kinds import RECIPES
from reader.train.render.truth import settles


def row(kind="worn", number=0, size="47-507", verdict="sure", truth="47-507", **more):
    answers = {engine: Answer(size, verdict, 0.9, 1.5) for engine in ENGINES}
    return Row(kind, number, 1, 1, "tyre", truth, truth, 0.5, 30.0, "", answers, **more)


def test_every_case_has_seeds_of_its_own():
    cases = [Case(kind, number) for kind in KINDS for number in range(200)]
    seeds = [case.seed + photo for case in cases for photo in range(SEVERAL)]
    assert len(set(seeds)) == len(seeds)
    assert min(seeds) >= 1_500_000 and max(seeds) < answers.FIRST_SEED


# The texts are of the forms that ISO 5775 and rim makers' decals use; read by hand.
@pytest.mark.parametrize(
    ("text", "rim", "truth"),
    [
        ("47-507 (24 x 1.75)", False, "47-507"),
        ("ETRTO 37 - 622", False, "37-622"),
        ("26 x 1 3/8", False, ""),
        ("28-1/2 x 10", False, ""),
        ("8 x 2 47-93", False, "47-93"),
        ("622x19C ERD 600", True, "19-622"),
        ("700x28C", True, ""),  # no bead seat of 700 mm
        ("21C-559", True, "21-559"),
        ("47-507 47-559", False, ""),  # two sizes settle nothing
        ("35-70 PSI", False, ""),
    ],
)
def test_truth_is_what_the_text_names_outright(text, rim, truth):
    assert spelled(settles(text, rim)) == truth


@pytest.mark.parametrize("kind", KINDS)
def test_size_lines_are_frozen_and_known(kind):
    known = load_tables().bsds
    for number in range(12):
        text, truth = size_line(Case(kind, number))
        assert (text, truth) == size_line(Case(kind, number))
        assert bool(truth) == (kind not in EMPTY)
        assert bool(text) == (kind != "nothing")
        assert all(bsd in known for bsd, _ in truth)
        assert len(truth) == 1 or kind in EMPTY or kind == "names alone"


@pytest.mark.parametrize(
    ("kind", "size", "verdict", "truth", "outcome"),
    [
        ("worn", "47-507", "sure", "47-507", "right"),
        ("worn", "47-507", "likely", "47-507", "right"),
        ("worn", "47-507", "can't tell", "47-507", "can't tell"),
        ("worn", "", "none", "47-507", "can't tell"),
        ("worn", "44-507", "sure", "47-507", "wrong, sure"),
        ("worn", "47-501", "likely", "47-507", "wrong, told"),
        ("nothing", "47-507", "likely", "", "wrong, told"),
        ("names alone", "37-590", "likely", "35-590|37-590", "right"),
        ("names alone", "37-635", "likely", "?-635", "right"),
        ("names alone", "37-622", "sure", "?-635", "wrong, sure"),
    ],
)
def test_outcomes(kind, size, verdict, truth, outcome):
    assert row(kind, 0, size, verdict, truth).outcome(OURS) == outcome


def test_a_wrong_width_can_go_with_the_right_diameter():
    assert row("worn", 0, "44-507", "sure").diameter(OURS)
    assert not row("worn", 0, "47-501", "sure").diameter(OURS)
    assert not row("worn", 0, "47-507", "can't tell").diameter(OURS)
    assert not row("nothing", 0, "47-507", "sure", "").diameter(OURS)


def test_rows_come_back_and_a_row_cut_short_is_left_out(tmp_path):
    path = tmp_path / "accuracy.csv"
    rows = [row(number=k) for k in range(3)]
    bench_rows.append(path, rows[:2])
    bench_rows.append(path, rows[2:])
    assert bench_rows.load(path) == rows
    path.write_text(path.read_text()[:-40])
    assert bench_rows.load(path) == rows[:2]
    path.write_text("something,else\n1,2\n")
    with pytest.raises(InputError):
        bench_rows.load(path)


def test_only_engines_that_were_asked_come_back(tmp_path):
    path = tmp_path / "accuracy.csv"
    ours = replace(row(), answers={OURS: Answer("47-507", str(Verdict.SURE), 0.99, 2.0)})
    bench_rows.append(path, [ours])
    assert bench_rows.load(path) == [ours]


def test_cases_come_in_turn_and_few_whole_wheels():
    some = list(bench.cases(["decal", "whole"], 100))
    assert [case.kind for case in some[:4]] == ["decal", "whole", "decal", "whole"]
    assert sum(case.kind == "whole" for case in some) == bench.MOST_WHOLE


def test_results_are_kept_when_the_time_is_over_and_failures_are_counted(tmp_path, capsys):
    def work(number):
        time.sleep(0.05)
        if number == 1:
            raise ValueError("a broken photo")
        return row(number=number)

    rows = tmp_path / "accuracy.csv"
    with ThreadPoolExecutor(1) as pool:
        jobs = {pool.submit(work, k): f"worn {k}" for k in range(20)}
        assert bench.Clerk(0.1 / 60, rows, tmp_path / "lines.csv", jobs).gather() == 1
    kept = bench_rows.load(rows)
    assert 0 < len(kept) < 19
    assert "worn 1: ValueError: a broken photo" in capsys.readouterr().err


def test_the_report_counts_and_draws(tmp_path):
    rows = [row("worn", k, "47-507" if k < 30 else "44-507") for k in range(40)]
    rows += [row("nothing", k, "", "none", "") for k in range(5)]
    bench_rows.append(tmp_path / "accuracy.csv", rows)
    lines = [
        LineRow(0, k, "47-507", float(k), 3.0, "47-507", "47-507" if k > 5 else "", "")
        for k in range(20)
    ]
    bench_lines.append(tmp_path / "lines.csv", lines)
    text = write_report(tmp_path / "accuracy.csv", tmp_path / "lines.csv")
    assert text == (tmp_path / "accuracy.md").read_text()
    assert "| worn | 40 | 30 (75%) | 70 % | 40 | 10 | 0 | 0 | 30 (75%) of 40 | 1.5 |" in text
    assert "Wrong while sure: 10 of 45" in text
    assert "| 5 to 8 | 3 | 3 (100%) | 2 (67%) | 0 (0%) | 1.50 |" in text
    for plot in ("clarity.png", "height.png", "lines.png"):
        assert (tmp_path / plot).read_bytes().startswith(b"\x89PNG")


def test_bins_hold_equally_many_and_their_mean():
    spots, shares, _ = binned(np.arange(84.0), (np.arange(84) >= 42).astype(float))
    assert len(spots) == 7
    assert shares == pytest.approx([0, 0, 0, 0.5, 1, 1, 1])


def test_contrast_is_what_the_lettering_changes():
    ground = np.random.default_rng(1).integers(90, 110, (48, 200)).astype(np.uint8)
    letters = ground.copy()
    letters[10:38, 20:180:8] += 40
    contrast, clutter = measure(letters, ground)
    assert 8 < contrast < 20 and clutter == pytest.approx(ground.std(), rel=0.1)
    assert measure(ground, ground)[0] == 0


def test_exact_lets_blanks_and_case_pass_and_nothing_else():
    line = LineRow(0, 0, "47 - 507 OAKRIM", 5.0, 5.0, "", "", "")
    assert line.exact("47-507 Oakrim")
    assert not line.exact("47-507 0AKRIM")


@pytest.fixture
def desk(tmp_path, fonts, monkeypatch):
    """A worker's desk with fonts that every check-out has, and small pictures."""
    (tmp_path / "fonts/held-out").mkdir(parents=True)
    for path in fonts:
        (tmp_path / "fonts/held-out" / path.name).symlink_to(path)
    small = replace(RECIPES["decal"], size=(480, 640), caps=(22.0, 30.0))
    monkeypatch.setitem(RECIPES, "decal", small)
    bench_read.sit_down(tmp_path, "cpu", True, nullcontext())
    yield bench_read.DESKS[0]
    bench_read.DESKS.clear()


def test_a_case_is_put_to_every_engine(desk):
    got = bench_read.answer(Case("decal", 1), True)
    assert tuple(got.answers) == ENGINES and got.photos == 1 and got.part == "rim"
    assert got.truth == spelled(size_line(Case("decal", 1))[1])
    assert all(one.seconds > 0 and one.verdict for one in got.answers.values())


def test_lines_are_frozen_and_differ_from_their_ground(desk, monkeypatch):
    monkeypatch.setattr(bench_lines, "BATCH", 3)
    strips, blank, truths = bench_lines.render(desk.studio, 7)
    again, _, same = bench_lines.render(desk.studio, 7)
    assert truths == same and all(truths)
    for one, other, ground in zip(strips, again, blank, strict=True):
        assert np.array_equal(one, other) and one.shape == ground.shape
        assert measure(one, ground)[0] > 0
