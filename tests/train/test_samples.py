"""The sample photographs: labels and files agree, the sizes exist, every photo loads."""

import csv
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from reader.photo.load import load
from reader.tables import load_tables

SAMPLES = Path(__file__).parents[2] / "samples"
DEPOT = SAMPLES / "depot"
TABLES = load_tables()
PARTS = {"tyre", "rim", "unknown"}
MEGABYTE = 1_000_000


def rows(path):
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


LABELS = rows(SAMPLES / "labels.csv")
TRUTH = rows(DEPOT / "truth.csv")


def test_labels_and_files_are_the_same():
    names = sorted(path.name for path in SAMPLES.glob("*.jpg"))
    assert sorted(row["file"] for row in LABELS) == names
    found = sorted(path.relative_to(DEPOT).as_posix() for path in DEPOT.rglob("*.jpg"))
    assert sorted(row["file"] for row in TRUTH) == found


@pytest.mark.parametrize("row", LABELS + TRUTH, ids=lambda row: row["file"])
def test_sizes_named_exist_in_the_tables_and_stand_in_the_text(row):
    assert row["part"] in PARTS
    if row["iso_size"]:
        width, bsd = row["iso_size"].split("-")
        widths = TABLES.rim_widths if row["part"] == "rim" else TABLES.tyre_widths
        assert int(bsd) in TABLES.bsds and float(width) in widths
        assert width in row["text"] and bsd in row["text"]


@pytest.mark.parametrize("row", LABELS, ids=lambda row: row["file"])
def test_samples_load_upright(row):
    photo = load(SAMPLES / row["file"], row["file"])
    height, width = photo.shape
    assert (height, width) in {(1200, 1600), (1500, 2000), (3000, 4000)}
    assert photo.pixels.std() > 2


def test_a_photo_turned_by_its_tag_is_stored_on_its_side():
    turned = [row for row in LABELS if "EXIF" in row["note"]]
    assert turned
    for row in turned:
        with Image.open(SAMPLES / row["file"]) as picture:
            assert picture.size == (1200, 1600)
            stored = np.asarray(picture)
        assert np.array_equal(np.rot90(stored, -1), load(SAMPLES / row["file"], "").pixels)


def test_samples_show_every_kind_and_some_no_size():
    kinds = [row["kind"] for row in LABELS]
    assert len(LABELS) >= 26
    assert {
        "decal", "stamped", "engraved", "printed", "moulded", "worn", "dirty", "whole", "tiny",
        "whole printed", "magnifier", "glare",
    } <= set(kinds)  # fmt: skip
    assert kinds.count("nothing") >= 2 and kinds.count("other texts") >= 2
    for row in LABELS:
        assert bool(row["text"]) == (row["part"] != "unknown")


def test_depot_has_62_parts_in_4_bins_and_stays_small():
    parts = {(row["bin"], row["part_name"]): row for row in TRUTH}
    assert len(parts) == 62 and len({row["bin"] for row in TRUTH}) == 4
    for row in TRUTH:
        first = parts[row["bin"], row["part_name"]]
        assert (row["text"], row["wear"]) == (first["text"], first["wear"])
        assert row["iso_size"]
    files = [DEPOT / row["file"] for row in TRUTH]
    assert max(path.stat().st_size for path in files) <= 120_000
    assert sum(path.stat().st_size for path in files) <= 9 * MEGABYTE


def test_depot_photos_load():
    for row in TRUTH:
        assert load(DEPOT / row["file"], row["file"]).shape == (900, 1200)
