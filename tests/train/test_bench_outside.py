"""No size is told on pictures that nobody here drew (provenance: fixtures/ocr/README.md, and the
data folder of scikit-image); the words in them are counted rightly."""

import pytest

pytest.importorskip("torch")
pytest.importorskip("skimage")

from reader.train.bench.outside import COLUMNS, Result, judge, matches, photographs, table

PICTURES = dict((photo.name, (photo, words)) for photo, words in photographs())
QUICK = [
    "notice.jpg", "numbers.jpg", "word1.png", "display.jpg", "hotel.jpg",
    "scikit-image: text.png", "scikit-image: coins.png", "scikit-image: brick.png",
    "scikit-image: motorcycle_left.png",
]  # fmt: skip


@pytest.mark.parametrize("name", QUICK)
def test_no_size_is_told_where_none_is(name):
    photo, _ = PICTURES[name]
    assert not judge(photo).told


def test_every_engine_is_asked_for_the_words():
    photo, words = PICTURES["service.jpg"]
    result = judge(photo, words)
    assert tuple(result.found) == COLUMNS and result.words == 5
    assert result.found["scene engine plainly"] == 5  # as read by hand, see the README there


def test_words_count_as_often_as_they_stand_there():
    assert matches("7 7 6", "7 6 6 8") == 2
    assert matches("Car Parks", "CAR PARKS") == 2
    assert matches("riser", "rise") == 0


def test_the_table_sums_up():
    found = {column: 1 for column in COLUMNS}
    results = [
        Result("a.jpg", "", "none", 2, found),
        Result("b.jpg", "47-507", "sure"),
        Result("c.jpg", "47-507", "can't tell"),
    ]
    text = table(results)
    assert "1 of 3 pictures" in text
    assert f"| all |  | 2 |{' 1 |' * len(COLUMNS)}" in text
