"""What the catalogue keeps of a reading beside its sizes."""

from dataclasses import fields, replace

import fake_reader
import seen

from reader.catalogue import history, search
from reader.catalogue.columns import Part
from reader.catalogue.intake.facts import facts_read
from reader.catalogue.intake.findings import findings_of, foreign, split
from reader.catalogue.intake.intake import take_in
from reader.catalogue.intake.jobs import Outcome
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


def pair(text: str, photo: str, cost: float = 0.0):
    width, bsd = map(int, text.split("-"))
    line = seen.line(text, photo=photo)
    return replace(seen.marking(line, "iso_pair", {"width_mm": width, "bsd_mm": bsd}), cost=cost)


def test_a_folder_with_two_different_parts_asks_to_be_split(catalogue, make_bin):
    both = (pair("37-622", "0.jpg"), pair("47-507", "1.jpg"))
    reading = Reading((), Verdict.CANT_TELL, photos=("0.jpg", "1.jpg"), markings=both)
    assert split(reading) == "its photos tell 622 mm (0.jpg) and 507 mm (1.jpg)"
    same = (pair("37-622", "0.jpg"), pair("40-622", "1.jpg"), pair("47-507", "1.jpg", 3.0))
    assert split(replace(reading, markings=same)) == ""
    one = (pair("37-622", "0.jpg"), pair("47-507", "0.jpg"))
    assert split(replace(reading, markings=one)) == "", "a photo may show two parts of a heap"

    crew = fake_reader.Here()
    crew.submit = lambda job: crew._done.append((job, Outcome(findings_of(reading))))
    tally = take_in(catalogue, [make_bin(1, 2)], crew)
    assert [item.reason for item in tally.split] == [split(reading)]
    (part,) = search(catalogue)
    assert any(one["what"] == "two parts?" for one in history(catalogue, part.code))
