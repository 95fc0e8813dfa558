"""How many steps a photo takes: as few as settle its size."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from test_pipeline import label  # noqa: E402

from reader import cascade as ladder
from reader.cascade import Work, climb  # noqa: E402
from reader.detect import trace as lines
from reader.photo.rectify import flip  # noqa: E402
from reader.records import Hypothesis, Marking, Photo, Region, Strip  # noqa: E402

ONE = ("moulded",)


@pytest.fixture
def looks(monkeypatch):
    """Counts how often lines are asked for."""
    asked = []
    search = lines.search

    def counted(photo):
        for found in search(photo):
            asked.append(len(found))
            yield found

    monkeypatch.setattr(lines, "search", counted)
    return asked


def read(photo, steps=None):
    work = Work(ONE, "world")
    climb(photo, work, lambda step, share: steps.append(step) if steps is not None else None)
    return work


def test_a_clear_pair_takes_one_quick_look(looks):
    steps = []
    work = read(label("37-622"), steps)
    assert len(looks) == 1
    assert work.is_clear(work.regions[0].photo)
    assert "trying other light" not in steps


def test_a_bare_wall_is_looked_at_in_every_way(looks):
    steps = []
    work = read(label(""), steps)
    assert len(looks) == 2
    assert "trying other light" in steps
    assert not work.markings


def test_a_pair_that_touches_the_photos_edge_is_told_so():
    whole = label("37-622")
    left = int(np.flatnonzero((whole.pixels[..., 0] > 130).any(0))[0])  # the first letter's edge
    cut = Photo("cut", np.ascontiguousarray(whole.pixels[:, left:]), "tyre")
    assert not any(m.cut for m in read(whole).markings if m.cost < 1)
    assert all(m.cut for m in read(cut).markings if m.text.endswith("622") and m.cost < 4)


def test_a_pair_upside_down_is_read_as_well():
    upright = label("47-507")
    turned = Photo("turned", np.ascontiguousarray(upright.pixels[::-1, ::-1]), "tyre")
    read_so = {m.text for m in read(turned).markings if m.notation == "iso_pair" and m.cost < 1}
    assert read_so == {"47-507"}


def test_what_lies_outside_the_users_box_is_not_kept():
    upright = label("37-622", size=(480, 1280))
    boxed = Photo("boxed", upright.pixels, "tyre", (0, 0, 320, 480))
    for region in read(boxed).regions:
        assert region.centreline[:, 0].mean() < 330


@pytest.fixture
def answers(monkeypatch):
    """The recogniser's place taken by a table: text and score for each way of a line."""
    asked = []

    def run(name, strips, work):
        asked.extend(strips)
        right = [strip.region.centreline[0, 0] < strip.region.centreline[-1, 0] for strip in strips]
        told = [("47-507", 0.97) if way else ("", 0.0) for way in right]
        return [Hypothesis(name, *one, strip) for one, strip in zip(told, strips, strict=True)]

    monkeypatch.setattr(ladder, "_run", run)
    return asked


def line(start, stop):
    ends = np.array([[start, 100], [stop, 100]], np.float32)
    region = Region(Photo("drawn", np.zeros((200, 400, 3), np.uint8)), ends, 24.0)
    return lines.Line(region, flip(region))


def test_only_a_line_that_reads_poorly_is_turned_round(answers):
    strips, seen = ladder._read_lines([line(50, 350), line(350, 50)], Work(ONE, "world"))
    assert len(answers) == 3
    assert [hypothesis.text for hypothesis in seen] == ["47-507", "47-507"]
    assert all(strip.region.centreline[0, 0] == 50 for strip in strips)


def test_a_line_read_well_before_is_not_read_again(answers):
    before = [Hypothesis("moulded", "47-507", 0.97, Strip(line(50, 350).region, np.zeros((48, 9))))]
    poor = [Hypothesis("moulded", "4", 0.4, before[0].strip)]
    again, other = line(345, 55), line(50, 350)
    other.region.centreline[:, 1] += 60
    assert ladder._unread([again, other], before) == [other]
    assert ladder._unread([again, other], poor) == [again, other]


def test_a_long_stretch_without_letters_is_a_hole():
    frames = np.full((60, 3), -9.0, np.float32)
    frames[:, 0] = 0.0
    strip = Strip(Region(label("37-622"), np.zeros((2, 2), np.float32), 9.0, 1.0, "lines"), None)
    frames[50, 1] = 1.0
    assert ladder._hole(Hypothesis("moulded", "3", 1.0, strip, frames, "37"))
    frames[20, 1] = 1.0
    assert not ladder._hole(Hypothesis("moulded", "33", 1.0, strip, frames, "37"))


def test_a_size_that_is_another_number_upside_down_is_doubted():
    photo = label("")
    line = np.array([[100, 200], [300, 200]], np.float32)
    upright, other = Region(photo, line, 30), Region(photo, line[::-1].copy(), 30)
    strips = [Strip(region, np.zeros((48, 240), np.uint8)) for region in (upright, other)]
    number = Hypothesis("moulded", "129,24", 0.99, strips[0])
    turned = Hypothesis("moulded", "47-571", 0.83, strips[1])
    pair = Marking("iso_pair", "47-571", {"width_mm": 47, "bsd_mm": 571}, (0, 6), 0.2, turned)
    work = Work(ONE, "world", hypotheses=[number, turned], markings=[pair])
    ladder._doubt_the_wrong_way(work)
    assert work.markings[0].cost == pytest.approx(0.2 + ladder.WRONG_WAY)
    assert not ladder._settles(photo, work)
    ladder._doubt_the_wrong_way(work)  # doubted once, not again
    assert work.markings[0].cost == pytest.approx(0.2 + ladder.WRONG_WAY)


@pytest.mark.parametrize(("other", "doubted"), [((600, 40), False), ((330, 30), True)])
def test_a_text_set_the_other_way_round_further_on_casts_no_doubt(other, doubted):
    photo = label("")
    line, turned = (
        np.array([[x, 200] for x in ends], np.float32) for ends in ((40.0, 320.0), other)
    )
    strip, back = (
        Strip(Region(photo, ends, 30), np.zeros((48, 240), np.uint8)) for ends in (line, turned)
    )
    size = Hypothesis("moulded", "47-571", 0.95, strip)
    text = Hypothesis("moulded", "MAX 310 KPA" + " " * (0 if doubted else 11), 0.97, back)
    pair = Marking("iso_pair", "47-571", {"width_mm": 47, "bsd_mm": 571}, (0, 6), 0.2, size)
    work = Work(ONE, "world", hypotheses=[size, text], markings=[pair])
    ladder._doubt_the_wrong_way(work)
    assert (work.markings[0].cost > ladder.CLEAR) is doubted
