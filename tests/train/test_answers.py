"""Answers for the calibration: seeds of their own, nothing lost, right told from wrong."""

from __future__ import annotations

import pytest

pytest.importorskip("torch")  # comes with the extra "train" only

from reader.markings import parse_text
from reader.records import Size
from reader.tables import load_tables
from reader.train.bench.sets import FIRST_SEED as BENCH_SEED
from reader.train.calibrate import collect as answers
from reader.train.calibrate.collect import (
    Kept,
    append,
    jobs,
    load,
    main,
    read_more,
    true_size,
    weigh,
)
from reader.train.calibrate.fit import read_answers
from reader.train.render.batch import Done, Facts, Job
from reader.train.render.kinds import RECIPES
from reader.train.render.photos import HELD_OUT_BANK

TABLES = load_tables()


def kept(text, truth, told=True, part="tyre"):
    job = Job("printed", (answers.FIRST_SEED,), told)
    return Kept(job, (Facts(truth, part, 30.0, 0.9),), tuple(parse_text(text)), 1.0)


def test_seeds_are_met_once_and_nowhere_else():
    made = jobs(200)
    seeds = [seed for job in made for seed in job.seeds]
    assert len(set(seeds)) == len(seeds)
    assert min(seeds) >= 2_000_000 > BENCH_SEED
    assert max(seeds) < 2_500_000
    assert answers.BANK_SEED != HELD_OUT_BANK


def test_all_recipes_come_in_turn_half_of_them_told():
    made = jobs(60)
    assert [job.recipe for job in made[: len(RECIPES)]] == list(RECIPES)
    assert sum(job.told for job in made) == len(made) / 2
    assert 0.1 < sum(len(job.seeds) == 2 for job in made) / len(made) < 0.2
    assert len({job.quality for job in made}) == 4 and all(job.quality for job in made)
    assert jobs(2) == made[: 2 * len(RECIPES)]  # more photos later keep the first ones


def test_a_torn_chunk_costs_only_itself(tmp_path):
    path = tmp_path / "evidence.bin"
    assert load(path) == []
    one, two = kept("47-507", "47-507"), kept("28-622", "28-622", told=False)
    append(path, [one])
    whole = path.stat().st_size
    append(path, [two])
    path.write_bytes(path.read_bytes()[:-5])
    assert [k.facts for k in load(path)] == [one.facts]
    assert path.stat().st_size == whole
    append(path, [two])
    assert [k.job for k in load(path)] == [one.job, two.job]


def test_goes_on_where_it_stopped_and_tells_failures(tmp_path, monkeypatch):
    asked = []

    def shots(wanted, workers, device, stock, digest):
        for job in wanted:
            asked.append(job)
            bad = job.recipe == "dirty"
            facts = (Facts("47-507", "tyre", 30.0, 1.0),)
            yield Done(job, facts, None if bad else ((), 1.0), "no light" if bad else "")

    monkeypatch.setattr(answers, "read_shots", shots)
    path = tmp_path / "evidence.bin"
    told = list(read_more(path, jobs(1), 1, "cpu", tmp_path))
    assert len(load(path)) == len(RECIPES) - 1
    assert any("dirty" in line and "no light" in line for line in told)
    asked.clear()
    list(read_more(path, jobs(2), 1, "cpu", tmp_path))
    assert len(asked) == len(RECIPES) + 1  # the failed one again
    assert len(load(path)) == 2 * len(RECIPES) - 2


# Texts on real tyres and the sizes they name: kosunacycle.com/archives/1133; ISO 5775 overview.
@pytest.mark.parametrize(
    ("text", "part", "size"),
    [
        ("37-590 26x1 3/8", "tyre", Size(590, 37)),
        ("27x1 3/8 37-630", "tyre", Size(630, 37)),
        ("622x19C", "rim", Size(622, 19)),
        ("700C", "tyre", Size(622)),
        ("", "none", None),
    ],
)
def test_truth_is_what_the_set_text_names(text, part, size):
    assert true_size(Facts(text, part, 30.0, 1.0), TABLES) == size


def test_right_wrong_and_right_in_diameter_only():
    assert weigh(kept("47-507", "47-507 24x1.75"), TABLES)[1:] == (True, True)
    assert weigh(kept("44-507", "47-507"), TABLES)[1:] == (False, True)
    assert weigh(kept("47-559", "47-507"), TABLES)[1:] == (False, False)
    assert weigh(kept("700C", "28-622 700C"), TABLES)[1:] == (False, True)
    assert weigh(kept("47-507", "", part="none"), TABLES)[1:] == (False, False)
    assert weigh(kept("80 PSI", "47-507"), TABLES) is None
    assert weigh(kept("622x19C", "622x19C", part="rim"), TABLES)[0].told
    assert not weigh(kept("622x19C", "622x19C", told=False, part="rim"), TABLES)[0].told


def test_weighs_what_is_kept_and_writes_it(tmp_path, capsys):
    evidence, out = tmp_path / "evidence.bin", tmp_path / "answers.csv"
    append(evidence, [kept("47-507", "47-507"), kept("44-507", "47-507"), kept("", "47-507")])
    main(["--evidence", str(evidence), "--out", str(out)])
    found = read_answers(out)
    assert (found.right.tolist(), found.seat_right.tolist()) == ([1, 0], [1, 1])
    assert "2 answers to 3 parts" in capsys.readouterr().out
