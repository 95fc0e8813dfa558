"""The examples of `--json` against the schema, by the reference library of JSON Schema 2020-12."""

import csv
import json
import sys
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from replayed import ROOT, replay

from reader import report

SCHEMA = json.loads((files("reader") / "data" / "reading.schema.json").read_text("utf-8"))
EXAMPLES = sorted((ROOT / "fixtures" / "json").glob("*.json"))
MOST = 40_000  # bytes a photo may take without --all
LABELS = {
    row["file"]: row
    for row in csv.DictReader((ROOT / "samples" / "labels.csv").open(encoding="utf-8"))
}


@pytest.fixture(params=EXAMPLES, ids=lambda path: path.name)
def document(request):
    return json.loads(request.param.read_text("utf-8"))


def test_an_example_holds_to_the_schema(document):
    jsonschema.validate(document, SCHEMA)
    assert document["version"] == report.VERSION


def test_a_photo_takes_forty_kilobytes_at_most(document):
    for reading in document["readings"]:
        assert len(json.dumps(reading, ensure_ascii=False).encode()) <= MOST


def test_what_an_example_tells_is_what_the_picture_shows(document):
    for reading in document["readings"]:
        label = LABELS[Path(reading["photos"][0]).name]
        if reading["verdict"] in ("sure", "likely"):
            assert reading["size"] == label["iso_size"]
        if not label["iso_size"]:
            assert reading["verdict"] == "none"


def test_an_example_becomes_a_reading_and_the_same_again(document):
    for reading in document["readings"]:
        again = report.reading_to_dict(report.from_dict(reading))
        assert again["diameter"] == reading["diameter"] and again["facts"] == reading["facts"]


def test_todays_answer_has_the_fields_of_the_example():
    document = json.loads((ROOT / "fixtures" / "json" / "read.json").read_text("utf-8"))
    shown = next(
        one for one in document["readings"] if one["photos"][0].endswith("moulded-102.jpg")
    )
    today = report.reading_to_dict(replay("moulded-102")[0])
    assert today.keys() == shown.keys()
    for name in ("candidates", "markings"):
        assert today[name][0].keys() == shown[name][0].keys()
