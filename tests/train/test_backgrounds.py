"""Background rows, licences from copyright files, and the cuts of a picture."""

import numpy as np
import pytest
from PIL import Image

from reader.train.fonts import fetch as fontfetch
from reader.train.render import backgrounds

ROWS = backgrounds.read_rows()

COPYRIGHT = """Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/

Files: *
Copyright: 2010 someone
License: GPL-2+

Files: nature/Lake.jpg
  nature/Hill.jpg
Copyright: 2011 someone
License: CC-BY-SA-4.0

Files: debian/*
Copyright: 2012 someone
License: Expat
"""


@pytest.fixture
def work(tmp_path):
    folder = fontfetch.debian_folder("some-pictures", tmp_path) / "usr/share"
    (folder / "doc/some-pictures").mkdir(parents=True)
    (folder / "doc/some-pictures/copyright").write_text(COPYRIGHT)
    noise = np.random.default_rng(1).integers(0, 255, (1500, 2400, 3), np.uint8)
    Image.fromarray(noise).save(folder / "Lake.png")
    Image.fromarray(noise[:300, :400]).save(folder / "Reed.png")
    (tmp_path / "some-pictures_1.0-1_all.deb").touch()
    return tmp_path


def row(file, name="lake", held="train"):
    return backgrounds.BackgroundRow(name, held, "some-pictures", "", "", file)


def test_there_are_enough_pictures_and_some_are_held_out():
    assert len(ROWS) >= 60
    assert len({one.name for one in ROWS}) == len(ROWS)
    assert 0.1 < np.mean([one.set == "held-out" for one in ROWS]) < 0.3


def test_every_picture_has_an_open_licence_and_a_pinned_source():
    for one in ROWS:
        assert fontfetch.is_open(one.licence) and one.version[0].isdigit(), one


@pytest.mark.parametrize(
    "file, licence",
    [("a/Lake.jpg", "CC-BY-SA-4.0"), ("b/Hill.jpg", "CC-BY-SA-4.0"), ("Other.jpg", "GPL-2+")],
)
def test_the_licence_is_the_one_of_the_file(work, file, licence):
    assert backgrounds.file_licence("some-pictures", file, work) == licence


def test_large_pictures_give_their_middle_too_and_all_are_small(work, tmp_path):
    out = tmp_path / "packs"
    rows = [row("usr/share/Lake.png"), row("usr/share/Reed.png", "reed", "held-out")]
    written = backgrounds.build(rows, work, out)
    assert sorted(path.relative_to(out).as_posix() for path in written) == [
        "held-out/reed.jpg",
        "train/lake-close.jpg",
        "train/lake.jpg",
    ]
    for path in written:
        with Image.open(path) as picture:
            assert max(picture.size) <= backgrounds.LONGEST and picture.mode == "RGB"


def test_versions_and_licences_are_recorded_from_the_packages(work):
    (one,) = backgrounds.with_sources([row("usr/share/Lake.png")], work)
    assert (one.version, one.licence) == ("1.0-1", "GPL-2+")


def test_rows_survive_writing_and_reading(tmp_path):
    backgrounds.write_rows(ROWS, tmp_path / "rows.csv")
    assert backgrounds.read_rows(tmp_path / "rows.csv") == ROWS
