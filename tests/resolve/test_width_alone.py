"""A tyre that tells a width and no diameter, and how words tell the kind of part."""

from __future__ import annotations

import pytest
from seen import line

from reader.markings import find_all
from reader.records import Verdict
from reader.resolve.facts import other_part, sentence
from reader.resolve.resolve import resolve
from reader.tables import load_tables

TABLES = load_tables()


def read(*texts: str, part="unknown", score=0.97):
    lines = [line(text, y=120 * k, score=score) for k, text in enumerate(texts)]
    return resolve([m for one in lines for m in find_all(one)], part, TABLES)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("25 MM", 25),
        ("38C", 38),
        ("2.10", 54),  # 54 mm is printed as 2.10 (inch_widths.csv, source LIST)
        ("3.33", 85),  # no table has it: 3.33 in are 84.6 mm
    ],
)
def test_a_width_alone_is_likely_and_nominal_on_a_tyre(text: str, mm: int) -> None:
    reading = read(text, "67 TPI")
    assert (reading.width.value, reading.width.verdict) == (mm, Verdict.LIKELY)
    assert reading.width.nominal and reading.width.probability <= 0.9
    assert reading.diameter.value is None and reading.verdict is Verdict.NONE
    assert text.split()[0].lower() in reading.advice[0].lower()
    assert "tells no diameter" in reading.advice[0]


def test_without_a_word_of_a_tyre_it_tells_nothing() -> None:
    assert read("25 MM").width.value is None
    assert read("67 TPI").width.value is None
    assert read("25 MM", "32H").width.value is None
    assert read("25 MM", "67 TPI", score=0.4).width.value is None


@pytest.mark.parametrize(
    ("text", "what", "says"),
    [
        ("205/55 R16 91V", "motor car", "motor vehicle's tyre"),
        ("SOLID TYRE", "solid", "no bead"),
        ("TUBULAR", "tubular", "glued on"),
    ],
)
def test_parts_without_a_bicycle_size_are_named(text: str, what: str, says: str) -> None:
    found = other_part(list(find_all(line(text))))
    assert found is not None and found.what == what
    assert says in sentence(found) and text.split()[0].lower() in sentence(found).lower()


@pytest.mark.parametrize("text", ["700x28C", "26 x 1 3/8"])
def test_a_name_alone_may_stand_on_a_rim(text: str) -> None:
    """Names stand on tyres mostly, and on rims too; common practice, no source."""
    reading = read(text)
    assert reading.kind.value == "tyre" and reading.kind.verdict is not Verdict.SURE
    assert [kind for kind, _ in reading.kind.others] == ["rim"]
    said = read(text, part="tyre")
    assert said.kind.verdict is Verdict.SURE and said.kind.probability == 1.0


def test_an_answer_and_its_rivals_never_exceed_one() -> None:
    for texts in (("26 x 1 3/8",), ("25-622",), ("47-507", "47-501"), ("37-590 26 x 1 3/8",)):
        reading = read(*texts)
        for judged in (reading.diameter, reading.width, reading.kind):
            total = judged.probability + sum(share for _, share in judged.others)
            assert total <= 1 + 1e-6


def test_a_tyre_on_its_rim_is_asked_about_as_a_tyre() -> None:
    reading = read("37-622", "622x19C")
    assert reading.best.part == "tyre" and reading.best.size.width == 37
    assert read("622x19C", "19-622").kind.value == "rim"
