"""Format, then parse: every notation finds what its own form says, clean and damaged."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reader.markings import NOTATIONS, parse_text
from reader.markings.known import is_rim, is_tyre, seats
from reader.records import Marking
from reader.tables import inches

SIZES = [notation for notation in NOTATIONS if notation.spellings]
DASHES = st.sampled_from(["-", " - ", "–", "—", "‐", "−"])
CROSSES = st.sampled_from(["x", "X", " x ", "×", " × ", "*", " X "])
AROUND = st.sampled_from(["", "TOUGH ROAD ", "(", "ETRTO "])
BEHIND = st.sampled_from(["", " INFLATE", ")", " TUBELESS", " MAX"])


def found(notation: str, text: str) -> list[Marking]:
    return [marking for marking in parse_text(text) if marking.notation == notation]


def only(notation: str, text: str) -> Mapping[str, float | str]:
    markings = found(notation, text)
    assert len(markings) == 1, (text, markings)
    assert markings[0].cost == 0
    return markings[0].numbers


@pytest.mark.parametrize("notation", SIZES, ids=lambda notation: notation.name)
def test_every_spelling_parses_to_its_numbers(notation) -> None:
    name = notation.name
    for text, numbers in notation.spellings():
        assert dict(numbers) in [dict(m.numbers) for m in found(name, text) if m.cost == 0], text


def test_spellings_use_the_recogniser_alphabet_and_stay_few() -> None:
    from reader.ocr.alphabet import ALPHABET

    texts = [text for notation in SIZES for text, _ in notation.spellings()]
    assert set("".join(texts)) <= set(ALPHABET)
    assert len(texts) <= 25_000


PAIRS = st.tuples(st.integers(18, 110), st.sampled_from(sorted(seats())))


@given(PAIRS.filter(lambda pair: is_tyre(*pair)), DASHES, AROUND, BEHIND)
def test_iso_pair(pair, dash, before, behind) -> None:
    numbers = only("iso_pair", f"{before}{pair[0]}{dash}{pair[1]}{behind}")
    assert numbers == {"width_mm": pair[0], "bsd_mm": pair[1]}


RIMS = st.tuples(st.integers(12, 100), st.sampled_from([b for b in sorted(seats()) if b > 99]))


@given(
    RIMS.filter(lambda rim: is_rim(*rim)),
    CROSSES,
    st.sampled_from(["", "C", " C", " TC", " TSS", " SS", " HB"]),
    AROUND,
)
def test_rim_in_both_orders(rim, cross, kind, before) -> None:
    width, bsd = rim
    numbers = {"bsd_mm": bsd, "width_mm": width, "kind": kind.strip()}
    assert only("rim", f"{before}{bsd}{cross}{width}{kind}") == {**numbers, "order": "bsd"}
    assert only("rim", f"{before}{width}-{bsd}{kind}") == {**numbers, "order": "width"}


DECIMALS = st.integers(20, 100).map(lambda n: f"{n * 5 / 100:.2f}")


@given(st.sampled_from(["12 1/2", "16", "20", "26", "27.5", "29"]), CROSSES, DECIMALS, BEHIND)
def test_inch_decimal(diameter, cross, width, behind) -> None:
    numbers = only("inch_decimal", f"{diameter}{cross}{width}{behind}")
    assert numbers == {
        "diameter_in": inches(diameter),
        "width_in": float(width),
        "width_text": width,
    }


FRACTIONS = st.tuples(st.sampled_from([1, 2]), st.sampled_from(["1/2", "1/4", "3/4", "3/8", "5/8"]))
GLYPHS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "3/8": "⅜", "5/8": "⅝"}


@given(
    st.sampled_from(["14", "20", "24", "26", "28"]),
    CROSSES,
    FRACTIONS,
    st.sampled_from([" ", "-", "", ".", "glyph", " glyph"]),
    BEHIND,
)
def test_inch_fraction(diameter, cross, width, gap, behind) -> None:
    whole, part = width
    written = f"{gap.replace('glyph', '')}{GLYPHS[part]}" if "glyph" in gap else gap + part
    numbers = only("inch_fraction", f"{diameter}{cross}{whole}{written}{behind}")
    assert numbers["width_text"] == f"{whole} {part}"
    assert numbers["width_in"] == float(whole + Fraction(part))


@given(st.sampled_from(["24", "26", "28"]), CROSSES, FRACTIONS, FRACTIONS)
def test_inch_three(diameter, cross, first, second) -> None:
    one, two = (f"{whole} {part}" for whole, part in (first, second))
    numbers = only("inch_three", f"{diameter}{cross}{one}{cross}{two}")
    assert {numbers["height_text"], numbers["width_text"]} == {one, two}
    assert found("inch_fraction", f"{diameter}{cross}{one}{cross}{two}") == []


@given(
    st.sampled_from([(700, "C"), (700, ""), (650, "B"), (650, "A"), (600, "A")]),
    CROSSES,
    st.integers(18, 62),
)
def test_french(name, cross, width) -> None:
    diameter, letter = name
    numbers = only("french", f"{diameter}{cross}{width}{letter}")
    assert numbers == {"diameter_mm": diameter, "width_mm": width, "letter": letter}


@given(st.integers(18, 40), st.integers(1, 20), st.sampled_from([559, 584, 622, 507, 406]))
def test_tube(low, more, bsd) -> None:
    numbers = only("tube", f"{low}/{low + more}-{bsd}")
    assert numbers == {
        "width_min_mm": low,
        "width_max_mm": low + more,
        "bsd_mm": bsd,
        "bsd2_mm": 0,
    }
    assert found("iso_pair", f"{low}/{low + more}-{bsd}") == []


@given(
    st.integers(20, 60),
    st.integers(0, 60),
    st.sampled_from([("PSI", 6.894757), ("P.S.I.", 6.894757), ("psi", 6.894757)]),
    DASHES,
)
def test_pressure_in_psi(low, more, unit, dash) -> None:
    numbers = only("pressure", f"INFLATE TO {low}{dash}{low + more} {unit[0]}")
    assert numbers["low_kpa"] == pytest.approx(low * unit[1], abs=0.001)
    assert numbers["high_kpa"] == pytest.approx((low + more) * unit[1], abs=0.001)


@given(st.integers(15, 400))
def test_threads(count) -> None:
    assert only("threads", f"{count} TPI") == {"value": count}


@given(st.integers(30, 300))
def test_load(load) -> None:
    assert only("load", f"MAX LOAD {load} KG") == {"value": load}


@given(st.integers(1, 12), st.integers(1, 20), st.integers(1000, 9999999))
def test_approval(country, _, number) -> None:
    text = f"E{country} 75R-{number}"
    assert only("approval", text) == {"value": text}
    assert [m.notation for m in parse_text(text)] == ["approval"]


@given(st.integers(1, 12), st.integers(1950, 2039), st.sampled_from("/.-"))
def test_date(month, year, sign) -> None:
    text = f"{month:02d}{sign}{year}"
    assert [(m.notation, m.text) for m in parse_text(text)] == [("date", text)]


LOOKS_LIKE = {"0": "OD", "1": "IL", "2": "Z", "5": "S", "6": "G", "7": "T", "8": "B"}


@given(st.sampled_from(["47-507", "37-622", "28-622", "40-559", "32-630"]), st.data())
def test_a_look_alike_keeps_the_pair_among_the_readings(pair, data) -> None:
    places = [i for i, sign in enumerate(pair) if sign in LOOKS_LIKE]
    place = data.draw(st.sampled_from(places))
    sign = data.draw(st.sampled_from(LOOKS_LIKE[pair[place]]))
    readings = found("iso_pair", pair[:place] + sign + pair[place + 1 :])
    assert pair in [m.text for m in readings]
    assert all(m.cost > 0 for m in readings)


@given(st.text(max_size=60))
def test_any_text_is_survived_and_spans_lie_inside(text) -> None:
    for marking in parse_text(text):
        start, end = marking.span
        assert 0 <= start < end <= len(text)


@given(st.text(alphabet=" 0123456789-/X.()KTPISC", max_size=40))
def test_only_sizes_that_exist(text) -> None:
    for marking in parse_text(text):
        if "bsd_mm" in marking.numbers:
            assert marking.numbers["bsd_mm"] in seats()
        assert marking.cost >= 0
