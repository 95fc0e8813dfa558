"""`--json` against its schema, by the reference library of JSON Schema 2020-12 (jsonschema)."""

import json
import math
from dataclasses import replace
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
import seen
from hypothesis import given
from hypothesis import strategies as st

from reader import report
from reader.errors import InputError
from reader.records import (
    Candidate,
    Evidence,
    Marking,
    Reading,
    Region,
    Size,
    Verdict,
)

SCHEMA = json.loads((files("reader") / "data" / "reading.schema.json").read_text("utf-8"))
READING = {"$defs": SCHEMA["$defs"], "$ref": "#/$defs/reading"}


def band(points=((10, 50), (110, 50)), height=20.0) -> Region:
    return seen.band(points, height, "tyre.jpg")


def whole() -> Reading:
    text = seen.line("47-5O7 MAX", photo="tyre.jpg", x=10, y=50, length=100, height=20, score=0.91)
    pair = {"width_mm": 47, "bsd_mm": 507}
    marking = seen.marking(text, "iso_pair", pair, 1.25, "47-507")
    evidence = Evidence("ISO pair read", "47-507 in tyre.jpg", 4.5, "tyre.jpg", "scene")
    return Reading(
        candidates=(
            Candidate(Size(507, 47), "tyre", 0.93, (evidence,), ("24 x 1.75",)),
            Candidate(Size(520), "tyre", 0.05),
        ),
        verdict=Verdict.LIKELY,
        part="tyre",
        photos=("tyre.jpg",),
        markings=(marking, Marking("pressure", "65 PSI", {"low_kpa": 0.0, "unit": "psi"})),
        advice=("photograph the rim",),
        contradictions=("26 inch was read too",),
        cautions=("keep to the lower pressure",),
        seconds=1.5,
        regions=(text.strip.region,),
    )


def test_the_schema_is_valid_and_holds_for_a_full_and_an_empty_reading():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for reading in (whole(), Reading((), Verdict.NONE)):
        for everything in (False, True):
            jsonschema.validate(report.reading_to_dict(reading, everything), READING)


def test_a_busy_photo_is_told_in_forty_kilobytes():
    """A whole wheel gives thousands of spellings and hundreds of places; all of it on demand."""
    one = whole()
    line = [
        seen.line(f"4{k}-5O7 MAX", photo="tyre.jpg", x=9 * k, y=40 * k, length=900, height=20)
        for k in range(400)
    ]
    pair = {"width_mm": 47, "bsd_mm": 507}
    markings = tuple(
        seen.marking(text, "iso_pair", pair, 1.2, f"{n}-507") for n, text in enumerate(line)
    )
    evidence = tuple(
        Evidence("ISO pair read", "x" * 120, 1.0, "tyre.jpg", "scene") for _ in range(9)
    )
    busy = replace(
        one,
        candidates=tuple(Candidate(Size(507, w), "tyre", 0.05, evidence) for w in range(20, 34)),
        markings=markings,
        regions=tuple(text.strip.region for text in line),
    )
    short, long = (json.dumps(report.reading_to_dict(busy, every)) for every in (False, True))
    assert len(short) <= 40_000 < len(long)


def test_the_dictionary_survives_json_and_the_way_back():
    data = json.loads(json.dumps(report.reading_to_dict(whole(), everything=True)))
    assert report.reading_to_dict(report.from_dict(data), everything=True) == data
    again = report.from_dict(data)
    assert again.best.size == Size(507, 47)
    assert again.best.evidence == whole().best.evidence
    assert again.markings[0].hypothesis.strip.region.photo.name == "tyre.jpg"


@given(
    width=st.none() | st.integers(10, 120) | st.sampled_from([22.5, 12.4]),
    bsd=st.integers(100, 700),
    probability=st.floats(0, 1),
    verdict=st.sampled_from(list(Verdict)),
    calibrated=st.booleans(),
)
def test_any_candidate_survives(width, bsd, probability, verdict, calibrated):
    reading = Reading(
        (Candidate(Size(bsd, width), "rim", probability),), verdict, "rim", calibrated=calibrated
    )
    data = report.reading_to_dict(reading)
    jsonschema.validate(data, READING)
    again = report.from_dict(data)
    assert again.best.size == Size(bsd, width)
    assert (again.verdict, again.calibrated) == (verdict, calibrated)
    assert math.isclose(again.best.probability, probability, abs_tol=1e-6)


def test_the_outline_of_a_straight_band_is_its_rectangle_upper_side_first():
    assert report.outline(band()) == [[10, 40], [110, 40], [110, 60], [10, 60]]


def test_the_outline_of_upside_down_text_starts_at_its_own_upper_side():
    assert report.outline(band(((110, 50), (10, 50)))) == [[110, 60], [10, 60], [10, 40], [110, 40]]


def test_a_long_arc_is_thinned_but_keeps_to_its_circle():
    angles = np.linspace(0, math.pi, 500)
    arc = np.stack([100 * np.cos(angles), -100 * np.sin(angles)], axis=1)
    points = np.array(report.outline(band(arc, 20.0)))
    radii = np.hypot(*points.T)
    assert len(points) == 48
    assert np.allclose(np.sort(radii)[:24], 90, atol=0.6)
    assert np.allclose(np.sort(radii)[24:], 110, atol=0.6)


@pytest.mark.parametrize("damage", [{"version": 99}, {"verdict": "perhaps"}, {"candidates": [{}]}])
def test_what_is_no_reading_is_refused_with_a_remedy(damage):
    data = report.reading_to_dict(whole()) | damage
    with pytest.raises(InputError) as caught:
        report.from_dict(data)
    assert caught.value.remedy


def test_belief_without_calibration_says_so():
    assert "not yet measured" in report.belief(whole())
    measured = Reading(whole().candidates, Verdict.LIKELY, calibrated=True)
    assert report.belief(measured) == "likely, 93 %"
    assert report.belief(Reading((), Verdict.NONE)) == "no size marking was found"
