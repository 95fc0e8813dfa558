"""What the catalogue keeps of a reading beside its sizes."""

from dataclasses import fields

from reader.catalogue.columns import Part
from reader.catalogue.intake.facts import facts_read
from reader.catalogue.intake.findings import findings_of, foreign
from reader.records import Fact, Judgement, Reading, Verdict

FACTS = (
    Fact("pressure", "-600", "MAX 6 BAR", 0.95),
    Fact("load", 115.0, "MAX LOAD 115 KG", 0.9),
    Fact("tubeless", True, "TUBELESS READY", 0.95),
    Fact("hookless", False, "NO HOOKLESS", 0.95),
    Fact("holes", 36, "36H", 0.9),
    Fact("threads", 60, "60 TPI", 0.9),
    Fact("brake", "disc", "DISC BRAKE ONLY", 0.9),
    Fact("date", "2019-W23", "2319", 0.9),
    Fact("erd", 602.0, "ERD 602", 0.6),
)


def test_facts_become_columns_and_doubtful_ones_are_left_out():
    found = facts_read(FACTS)
    assert found == {
        "pressure_high": 600.0, "load": 115.0, "tubeless": "yes", "hookless": "no", "holes": 36,
        "threads": 60, "brake": "disc", "made": "2019-W23",
    }  # fmt: skip
    assert found.keys() <= {field.name for field in fields(Part)}


def test_a_motor_vehicle_tyre_is_foreign():
    why = "'215/55R16' is a motor vehicle's tyre: no bicycle size."
    car = Reading((), Verdict.NONE, advice=(why,), kind=Judgement("other", 0.9, Verdict.LIKELY))
    assert foreign(car) == findings_of(car).foreign == why
    assert foreign(Reading((), Verdict.NONE)) == ""
