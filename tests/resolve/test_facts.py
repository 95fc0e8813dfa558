"""What else a part says: forms as in the sizes list and on photographed parts."""

import pytest
from seen import line

from reader.markings import find_all
from reader.resolve.facts import facts, other_part, sentence
from reader.resolve.resolve import resolve, verdict
from reader.tables import load_tables


def said(*texts, score=0.95):
    return [m for text in texts for m in find_all(line(text, score=score))]


def told(*texts):
    return {fact.name: fact.value for fact in facts(said(*texts))}


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("PSI: 35 - 60 // BAR: 2.4 - 4.1", "pressure", "241-414"),
        ("MAX LOAD 115 KG (254 LBS)", "load", 115.0),
        ("TUBELESS READY", "tubeless", True),
        ("NO HOOKLESS", "hookless", False),
        ("HOOKLESS READY", "hookless", True),
        ("DIRECTION F", "direction", "front"),
        ("E-50", "e_bike", 50.0),
        ("DISC BRAKE ONLY", "brake", "disc"),
        ("WEAR INDICATOR", "wear_mark", True),
        ("700C, ERD 602.9mm, ETRTO 622X16mm", "erd", 602.9),
        ("622X19C 32H", "holes", 32.0),
        ("67 TPI", "threads", 67),
        ("DOT 2319", "date", "DOT 2319"),
        ("622x25 TSS", "edge", "TSS"),
        ("(TC)", "edge", "TC"),
    ],
)
def test_a_fact_is_told_by_name_and_value(text, name, value):
    assert told(text)[name] == value


def test_the_same_pressure_in_two_units_is_one():
    (fact,) = facts(said("2.4-4.1 BAR", "35-60 PSI"))
    assert fact.name == "pressure"
    assert fact.probability > 0.95


def test_readings_that_differ_take_from_each_other():
    alone = facts(said("MAX LOAD 80 KG", score=0.7))[0].probability
    (both,) = facts([*said("MAX LOAD 80 KG", "MAX LOAD 80 KG"), *said("MAX LOAD 30 KG", score=0.6)])
    assert both.value == 80.0
    assert both.probability < facts(said("MAX LOAD 80 KG", "MAX LOAD 80 KG"))[0].probability
    assert alone == pytest.approx(0.7)


def test_what_was_read_badly_is_not_told():
    assert facts(said("TUBELESS READY", score=0.4)) == ()


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("215/55R16 93V", "motor car"),
        ("100/70-17 M/C 49P", "motorcycle"),
        ("2.75-17", "motorcycle"),
        ("20x2.25 MOPED", "motorcycle"),
        ('28" TUBULAR', "tubular"),
        ("700x23 TUBULAR", "tubular"),
        ("AIRLESS 24 x 1 3/8", "solid"),
        ("WHEELCHAIR 24 x 1", "wheelchair"),
        ("280x65-203", "pram"),
        ("4.10/3.50-4", "barrow or small machine"),
    ],
)
def test_a_part_that_is_no_bicycles_is_named_and_gives_no_size(text, what):
    markings = said(text, text)
    reading = resolve(markings, "unknown", load_tables())
    assert reading.best is None
    assert reading.kind.value == "other"
    assert reading.advice == (sentence(other_part(markings)),)
    assert other_part(markings).what == what
    assert verdict(markings, "unknown", load_tables()) == reading.verdict


def test_a_clear_pair_is_a_bicycles_whatever_stands_beside_it():
    markings = said("47-507 24x1.75", "215/55R16")
    assert other_part(markings) is None
    assert str(resolve(markings, "tyre", load_tables()).best.size) == "47-507"


def test_a_weak_look_does_not_make_a_car():
    assert other_part(said("215/55R16", score=0.5)) is None
