"""The farm of rendered photographs: same pictures everywhere, failures told, all come back."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("torch")  # comes with the extra "train" only

from reader.records import Candidate, Reading, Size, Verdict
from reader.train.render import batch as farm
from reader.train.render.batch import Job, Stock, photograph, read_shots, record


@pytest.fixture(scope="session")
def stock(tmp_path_factory, fonts):
    """A stock with fonts that every check-out has, and noise for a background."""
    carry = tmp_path_factory.mktemp("carry")
    (carry / "fonts/held-out").mkdir(parents=True)
    for path in fonts:
        (carry / "fonts/held-out" / path.name).symlink_to(path)
    return Stock(carry, 5, 1)


@pytest.fixture
def small(monkeypatch):
    """Small pictures: the farm's own work doesn't depend on their size."""
    from reader.train.render.kinds import RECIPES

    monkeypatch.setitem(
        RECIPES, "decal", replace(RECIPES["decal"], size=(240, 320), caps=(12.0, 16.0))
    )


def test_same_job_same_picture_and_parts_share_their_line(stock, small):
    job = Job("decal", (7, 8), line_seed=3)
    (one, other), facts = photograph(job, stock)
    (again, _), same = photograph(job, stock)
    assert np.array_equal(one, again) and facts == same
    assert not np.array_equal(one, other)
    assert facts[0].truth == facts[1].truth != ""
    assert photograph(replace(job, line_seed=4), stock)[1][0].truth != facts[0].truth
    assert facts[0].part == "rim" and facts[0].cap > 0


def test_the_part_is_told_only_where_asked(stock, small):
    facts = photograph(Job("decal", (7,)), stock)[1]
    assert farm._told(Job("decal", (7,)), facts) == "rim"
    assert farm._told(Job("decal", (7,), told=False), facts) == "unknown"
    assert farm._told(Job("nothing", (7,)), (replace(facts[0], part="none"),)) == "unknown"


def test_jpeg_changes_little_and_something():
    pixels = np.random.default_rng(0).integers(0, 255, (64, 64, 3)).astype(np.uint8)
    smooth = np.repeat(np.repeat(pixels[::16, ::16], 16, 0), 16, 1)
    coded = farm._jpeg(smooth, 80)
    assert farm._jpeg(smooth, 0) is smooth
    assert 0 < np.abs(coded.astype(int) - smooth).mean() < 8


def test_a_failure_is_told_and_not_raised(monkeypatch, stock, small):
    def broken(photos):
        raise ValueError("no light")

    monkeypatch.setattr("reader.pipeline.read", broken)
    monkeypatch.setattr(farm, "TURNS", [nullcontext()])
    done = farm._render_and_read(Job("decal", (1,)), stock, "cpu", record)
    assert done.record is None and "no light" in done.error
    assert done.facts[0].part == "rim"


def test_record_keeps_sizes_in_order():
    best = Candidate(Size(507, 47), "tyre", 0.9)
    reading = Reading((best, replace(best, probability=0.1)), Verdict.LIKELY, "tyre", seconds=2.0)
    kept = record(Job("decal", (1,)), reading)
    assert kept.sizes == ((Size(507, 47), "tyre", 0.9), (Size(507, 47), "tyre", 0.1))
    assert (kept.verdict, kept.part, kept.seconds) == ("likely", "tyre", 2.0)


def names(job, reading):
    """A digest that a spawned worker finds."""
    return reading.photos


def test_all_jobs_come_back_from_spawned_workers(stock):
    jobs = [Job("nothing", (7,)), Job("decal", (8,), quality=90)]
    done = {one.job: one for one in read_shots(jobs, 1, stock=stock, digest=names)}
    assert set(done) == set(jobs)
    assert [one.error for one in done.values()] == ["", ""]
    assert done[jobs[1]].record == ("decal-8.jpg",)
    assert done[jobs[1]].facts[0].truth and not done[jobs[0]].facts[0].truth
