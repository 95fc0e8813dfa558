"""How many steps a photo takes: as few as settle its size."""

import sys
from dataclasses import dataclass, field, replace
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from test_pipeline import label  # noqa: E402

from reader import cascade
from reader.cascade import STEPS, read_photo  # noqa: E402
from reader.detect import trace as lines
from reader.ocr import ENGINES  # noqa: E402
from reader.photo.rectify import flip  # noqa: E402
from reader.ranking import has_gap  # noqa: E402
from reader.records import Hypothesis, Marking, Photo, Region, Strip, Verdict  # noqa: E402
from reader.resolve.resolve import resolve  # noqa: E402
from reader.tables import load_tables  # noqa: E402
from reader.view import CUTS, View, is_settled  # noqa: E402
from reader.work import CLEAR, WRONG_WAY, Work, real_tools  # noqa: E402

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
    read_photo(photo, work, lambda step, share: steps.append(step) if steps is not None else None)
    return work


def test_a_clear_pair_takes_one_quick_look(looks):
    steps = []
    work = read(label("37-622"), steps)
    assert len(looks) == 1
    assert work.is_clear(work.regions[0].photo)
    assert "looking past the ends of lines" not in steps


def test_a_bare_wall_is_looked_at_in_every_way(looks):
    steps = []
    work = read(label(""), steps)
    assert len(looks) == 2
    assert "looking past the ends of lines" in steps
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


def test_what_the_finder_sees_inside_the_users_box_is_read_beside_the_box_itself():
    plain = label("MADE", size=(480, 1280))
    boxed = Photo("boxed", plain.pixels, "tyre", (0, 0, 1280, 480))
    assert {region.finder for region in read(boxed).regions} == {"box", "lines"}


@dataclass
class Table:
    """The recogniser's place taken by a table: text and score for each way of a line."""

    asked: list = field(default_factory=list)

    def read(self, strips):
        self.asked.extend(strips)
        right = [strip.region.centreline[0, 0] < strip.region.centreline[-1, 0] for strip in strips]
        told = [("47-507", 0.97) if way else ("", 0.0) for way in right]
        return [Hypothesis("moulded", *one, strip) for one, strip in zip(told, strips, strict=True)]


@pytest.fixture
def table():
    return Table()


def tools(table, found=(), seconds=lambda: 0.0):
    return replace(
        real_tools(), engine=lambda name: table, lines=lambda photo: iter(found), seconds=seconds
    )


def line(start, stop, down=0):
    ends = np.array([[start, 100 + down], [stop, 100 + down]], np.float32)
    region = Region(Photo("drawn", np.zeros((200, 400, 3), np.uint8)), ends, 24.0)
    return lines.Line(region, flip(region))


def test_only_a_line_that_reads_poorly_is_turned_round(table):
    found = [line(50, 350), line(350, 50)]
    view = View(found[0].region.photo, Work(ONE, "world", tools(table)), iter([found]))
    list(cascade._lines(view, 48))
    assert len(table.asked) == 3
    assert [hypothesis.text for hypothesis in view.seen] == ["47-507", "47-507"]
    assert all(strip.region.centreline[0, 0] == 50 for strip in view.strips)


def test_a_line_read_well_before_is_not_read_again():
    before = [Hypothesis("moulded", "47-507", 0.97, Strip(line(50, 350).region, np.zeros((48, 9))))]
    poor = [Hypothesis("moulded", "4", 0.4, before[0].strip)]
    again, other = line(345, 55), line(50, 350, down=60)
    assert cascade._unread([again, other], before) == [other]
    assert cascade._unread([again, other], poor) == [again, other]


def test_lines_are_read_some_at_a_time_so_that_the_clock_is_asked(table):
    found = [line(50, 350, down=k) for k in range(5)]
    view = View(found[0].region.photo, Work(ONE, "world", tools(table)), iter([found]))
    assert len(list(cascade._lines(view, 2))) == 3
    assert len(view.seen) == len(view.strips) == 5


def test_when_the_time_is_spent_what_was_found_is_kept_and_said():
    class Nothing(Table):
        def read(self, strips):
            self.asked.extend(strips)
            return [Hypothesis("moulded", "47-5", 0.6, strip) for strip in strips]

    ticks = iter(range(1000))
    found = [[line(50, 350)], [line(50, 350, down=60)]]
    table, steps = Nothing(), []
    work = Work(ONE, "world", tools(table, found, lambda: float(next(ticks))))
    photo = found[0][0].region.photo
    read_photo(photo, work, lambda step, share: steps.append(step), patience=1.5)
    assert steps == ["finding lines of letters"]
    assert len(table.asked) == 4  # both sizes, each line both ways, and no step after that
    assert cascade.SPENT in work.notes
    assert work.hypotheses and len(work.hypotheses) == len(table.asked)


def test_a_step_whose_engine_is_not_in_use_is_left_out():
    steps = []
    read(label(""), steps)
    assert {step.name for step in STEPS if step.needs in ("", *ONE)} == set(steps)
    assert {step.needs for step in STEPS} - {""} == {kind.name for kind in ENGINES}


def test_a_long_stretch_without_letters_is_a_gap():
    frames = np.full((60, 3), -9.0, np.float32)
    frames[:, 0] = 0.0
    strip = Strip(Region(label("37-622"), np.zeros((2, 2), np.float32), 9.0, 1.0, "lines"), None)
    frames[50, 1] = 1.0
    assert has_gap(Hypothesis("moulded", "3", 1.0, strip, frames, "37"))
    frames[20, 1] = 1.0
    assert not has_gap(Hypothesis("moulded", "33", 1.0, strip, frames, "37"))


def test_a_size_that_is_another_number_upside_down_is_doubted():
    photo = label("")
    line = np.array([[100, 200], [300, 200]], np.float32)
    upright, other = Region(photo, line, 30), Region(photo, line[::-1].copy(), 30)
    strips = [Strip(region, np.zeros((48, 240), np.uint8)) for region in (upright, other)]
    number = Hypothesis("moulded", "129,24", 0.99, strips[0])
    turned = Hypothesis("moulded", "47-571", 0.83, strips[1])
    pair = Marking("iso_pair", "47-571", {"width_mm": 47, "bsd_mm": 571}, (0, 6), 0.2, turned)
    work = Work(ONE, "world", hypotheses=[number, turned], markings=[pair])
    work._doubt_the_wrong_way()
    assert work.markings[0].cost == pytest.approx(0.2 + WRONG_WAY)
    assert not is_settled(photo, work)
    work._doubt_the_wrong_way()  # doubted once, not again
    assert work.markings[0].cost == pytest.approx(0.2 + WRONG_WAY)


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
    work._doubt_the_wrong_way()
    assert (work.markings[0].cost > CLEAR) is doubted


class OneCut(Table):
    """A recogniser that reads the size in some of a line's cuts, and little in the others."""

    def __init__(self, heights, score=0.97):
        super().__init__()
        self.heights, self.score = heights, score

    def read(self, strips):
        self.asked.extend(strips)
        ends = [float(strip.region.centreline[0, 0]) for strip in strips]
        good = [
            strip.variant == "plain" and end == 50 and round(strip.region.height, 1) in self.heights
            for strip, end in zip(strips, ends, strict=True)
        ]
        told = [("47-507", self.score) if here else ("4 5", 0.4) for here in good]
        return [Hypothesis("moulded", *one, strip) for one, strip in zip(told, strips, strict=True)]


def taken(table):
    found = [[line(50, 350)]]
    work, steps = Work(ONE, "world", tools(table, found)), []
    read_photo(found[0][0].region.photo, work, lambda step, share: steps.append(step))
    return resolve(work.markings, "tyre", load_tables()), steps, work


@pytest.mark.parametrize("score", [0.97, 0.7])
def test_one_look_alone_never_ends_the_search_and_is_never_sure(score):
    reading, steps, work = taken(OneCut({24.0}, score))
    assert {step.name for step in STEPS if step.needs in ("", *ONE)} == set(steps)
    assert reading.diameter.verdict is not Verdict.SURE and reading.verdict is not Verdict.SURE
    assert {m.doubt for m in work.markings if m.text == "47-507"} == {"alone"}


def test_a_size_that_another_cut_bears_out_ends_the_search():
    lower = round(24.0 * CUTS[0], 1)
    reading, steps, work = taken(OneCut({24.0, lower}))
    assert steps == ["finding lines of letters"]
    assert reading.verdict is Verdict.SURE
    assert not any(m.doubt for m in work.markings if m.text == "47-507")


@pytest.mark.parametrize(
    ("step", "text", "ends", "height", "stretched"),
    [
        ("cutting lines anew", "37-622", (215, 430), 17.0, 1.0),  # half of the letters' height
        ("looking past the ends of lines", "37-622", (265, 385), 34.0, 1.0),  # no first, no last
        ("trying other widths", "25-559", (215, 430), 34.0, 3.8),  # very wide letters
    ],
)
def test_a_step_reads_what_the_first_look_does_badly(
    step, text, ends, height, stretched, monkeypatch
):
    plate = label(text).pixels
    wide = cv2.resize(plate, None, fx=stretched, fy=1.0, interpolation=cv2.INTER_CUBIC)
    photo = Photo("plate", np.ascontiguousarray(wide), "tyre")
    line = np.array([(x * stretched, 240) for x in ends], np.float32)
    poor = lines.Line(Region(photo, line, height), flip(Region(photo, line, height)))
    monkeypatch.setattr(
        cascade, "STEPS", tuple(s for s in STEPS if s.name in ("finding lines of letters", step))
    )
    work = Work(ONE, "world", replace(real_tools(), lines=lambda photo: iter([[poor]])))
    read_photo(photo, work, lambda step, share: None)
    assert resolve(work.markings, "tyre", load_tables()).told_size == text
