import pytest

torch = pytest.importorskip("torch")
torch.set_num_threads(1)

from reader.train.models.average import mixed
from reader.train.models.fit_finder import turn
from reader.train.models.learner import Pool, weighted


def test_directions_turn_with_the_picture():
    pictures = torch.zeros(1, 8, 8, dtype=torch.uint8)
    maps = torch.zeros(1, 6, 2, 2)
    maps[0, 0, 0, 1] = 1  # text in the upper right cell, reading to the right
    maps[:, 2] = 1
    _, turned = turn(pictures, maps, 1)
    assert turned[0, 0].tolist() == [[1, 0], [0, 0]]  # upper left, against the clock
    assert (turned[0, 2, 0, 0], turned[0, 3, 0, 0]) == (0, -1)  # reading upwards
    assert torch.equal(turn(*turn(pictures, maps, 1), 3)[1], maps)


def test_a_full_pool_takes_new_items_in():
    pool = Pool(3, 1)
    for item in range(50):
        pool.add(item)
    assert len(pool.items) == 3
    assert pool.draw() in pool.items
    assert max(pool.items) > 2


def test_fonts_seen_on_tyres_come_more_often(tmp_path):
    index = tmp_path / "index.csv"
    index.write_text("path,class\ntrain/a.ttf,din\ntrain/b.ttf,hand\n")
    fonts = weighted([tmp_path / "a.ttf", tmp_path / "b.ttf"], index)
    assert [font.name for font in fonts].count("a.ttf") > [f.name for f in fonts].count("b.ttf") > 0


def test_mixed_weights_lie_between_and_counters_stay():
    last = {"w": torch.tensor([1.0, 3.0]), "steps": torch.tensor(7)}
    earlier = {"w": torch.tensor([0.0, 1.0]), "steps": torch.tensor(5)}
    between = mixed(last, earlier, 0.25)
    assert between["w"].tolist() == [0.75, 2.5]
    assert int(between["steps"]) == 7
    with pytest.raises(KeyError):
        mixed(last, {"other": last["w"]}, 0.25)
