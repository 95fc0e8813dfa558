"""What is told to whoever holds the phone, by what is seen."""

import numpy as np
import pytest

from reader.records import Reading, Verdict
from reader.sweep.hints import TEXTS, hint, hints
from reader.sweep.quality import Quality
from reader.sweep.records import SeenLine, SweepState

SHAPE = 1080, 1920
GOOD = Quality(sharp=0.4, bright=0.0, dark=0.1)


def line(left=600.0, right=1200.0, height=40.0, text="37-622", size=False):
    top = [[x, 500.0] for x in np.linspace(left, right, 5)]
    bottom = [[x, 500.0 + height] for x in np.linspace(right, left, 5)]
    return SeenLine(np.array(top + bottom, np.float32), text, size)


def told(quality=GOOD, lines=(), best=0.4, **state):
    found = hints(quality, best, lines, SweepState(**state), SHAPE, [])
    assert len(found) <= 2
    return [one.name for one in found]


def unread(verdict=Verdict.NONE):
    return Reading((), verdict, "unknown", (), (), ())


def test_when_it_is_sure_nothing_else_is_said():
    assert told(Quality(0.0, 0.9, 0.9), [line()], done=True) == ["found"]


@pytest.mark.parametrize(
    ("quality", "name"),
    [
        (Quality(0.4, 0.3, 0.0), "glare"),
        (Quality(0.4, 0.0, 0.9), "dark"),
        (Quality(0.1, 0.0, 0.0), "slower"),
    ],
)
def test_what_is_wrong_with_the_picture(quality, name):
    assert name in told(quality, [line()])


@pytest.mark.parametrize(
    ("shown", "name"),
    [
        (line(1400, 1915), "right"),
        (line(5, 500), "left"),
        (line(height=9.0), "closer"),
    ],
)
def test_where_to_go(shown, name):
    assert name in told(lines=[shown])


def test_a_line_inside_the_picture_sends_nobody_on():
    assert told(lines=[line()]) == []


def test_upside_down_the_sides_are_those_of_the_picture():
    turned = line(1400, 1915)
    turned = SeenLine(turned.outline[::-1].copy(), turned.text, turned.size)
    assert "right" in told(lines=[turned]) and "left" not in told(lines=[turned])


def test_light_is_asked_for_after_some_looks_that_told_nothing():
    assert "light" not in told(lines=[line()], looks=2, reading=unread())
    assert "light" in told(lines=[line()], looks=6, reading=unread())


def test_without_numbers_it_says_what_to_look_for():
    assert told(lines=[line(text="MOORLAND")], looks=5) == ["search"]
    assert told(looks=5) == ["search"]


def test_every_hint_is_a_sentence():
    assert all(hint(name).text.endswith((".", "!")) for name in TEXTS)
