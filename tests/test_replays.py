"""Recorded photographs, drawn and real, through the whole cascade and the resolver.

Truth: the drawn ones' own texts (samples/labels.csv, samples/depot/truth.csv), the real ones' as
read by eye (fixtures/replay/truth.csv, with credit).
"""

import csv
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from replayed import FOLDER, NAMES, ROOT, replay, told

from reader.cascade import STEPS

TRUTH = {row["name"]: row for row in csv.DictReader((FOLDER / "truth.csv").open(encoding="utf-8"))}
VERDICTS = {
    row["name"]: row for row in csv.DictReader((FOLDER / "verdicts.csv").open(encoding="utf-8"))
}
LABELS = list(csv.DictReader((ROOT / "samples" / "labels.csv").open(encoding="utf-8")))
TOLD = ("sure", "likely")


@pytest.mark.parametrize("name", NAMES)
def test_a_recorded_photo_is_told_as_it_was(name):
    """What changes an answer shows here; see fixtures/replay/README.md."""
    reading, _, recording = replay(name)
    wanted = VERDICTS[name]
    assert told(reading) == (wanted["size"], wanted["verdict"], wanted["part"])
    assert recording.missed == []


def test_a_car_is_named_as_one():
    cars = [name for name in NAMES if TRUTH[name]["part"] == "motor"]
    assert len(cars) == 3
    for name in cars:
        reading, _, _ = replay(name)
        assert reading.kind.value == "other" and reading.best is None
        assert "motor vehicle" in reading.advice[0]


def test_spoke_holes_beside_the_pair_tell_a_rim():
    reading, _, _ = replay("magnifier-812")
    assert reading.kind.value == "rim"
    assert [(fact.name, fact.value) for fact in reading.facts] == [("holes", 28.0)]


def test_there_are_60_photographs_and_every_one_has_its_truth():
    assert len(NAMES) >= 60
    assert set(NAMES) == set(TRUTH) == set(VERDICTS)
    assert sum(name.startswith("real-") for name in NAMES) == 21


def test_every_shipped_sample_is_recorded():
    assert {Path(row["file"]).stem for row in LABELS} <= set(NAMES)


@pytest.mark.parametrize("row", LABELS, ids=lambda row: row["file"])
def test_a_shipped_sample_is_never_told_wrong(row):
    name = Path(row["file"]).stem
    seen = VERDICTS[name]
    if seen["verdict"] in TOLD:
        assert seen["size"] == row["iso_size"]
        assert seen["part"] in (row["part"], "unknown")
    if not row["iso_size"]:
        assert seen["verdict"] not in TOLD


@pytest.mark.parametrize("name", NAMES)
def test_no_size_is_told_that_is_not_there(name):
    truth, seen = TRUTH[name], VERDICTS[name]
    if seen["verdict"] in TOLD:
        wanted = truth["iso_size"] or f"{seen['size'].partition('-')[0]}-{truth['bsd']}"
        assert seen["size"] == wanted


# A photo for each step that tells what no cheaper step does. None is known for
# the last engine, which stays as an engine to choose.
SETTLED_BY = {row["settled_by"]: name for name, row in TRUTH.items() if row["settled_by"]}
UNPROVEN = {"reading letters once more"}


@pytest.mark.parametrize("step", SETTLED_BY)
def test_a_step_settles_what_no_cheaper_one_does(step):
    index = next(k for k, one in enumerate(STEPS) if one.name == step)
    with_it, taken, _ = replay(SETTLED_BY[step])
    without, _, _ = replay(SETTLED_BY[step], steps=STEPS[:index])
    assert with_it.verdict in TOLD and taken[-1] == step
    assert without.verdict not in TOLD


def test_every_step_is_spoken_of():
    assert {step.name for step in STEPS} == SETTLED_BY.keys() | UNPROVEN
