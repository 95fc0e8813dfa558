import re

import pretend
import pytest
from visiting import snap

from reader import catalogue as store
from reader.fit.section import section
from reader.records import Size
from reader.tables import load_tables
from reader.web.drawing import Seat, seats_svg, section_svg
from reader.web.pages.fit import ruler_of


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("tyre=28-622&rim=622x17C", "Only in older tables"),
        ("tyre=37-590&rim=597x21", "Never"),
        ("tyre=20-622&rim=622x25C", "No table in hand allows it"),
        ("tyre=28-622&rim=622x21TSS", "Can&#39;t tell"),
        ("rim=622x17C", "Tyres that may go on it"),
        ("tyre=47-507", "Rims that may take it"),
        ("tyre=26 x 1 3/8&rim=590x21", "can mean more than one size"),
    ],
)
def test_answers(client, query, words):
    """28-622 on 17C and the gap between 590 and 597: ETRTO 2006 table; S. Brown, Tire Sizing."""
    answer = client.get(f"/fit?{query}")
    assert answer.status_code == 200 and words in answer.text


@pytest.mark.parametrize(
    "query", ["tyre=rubber", "tyre=0-0&rim=622x19", "tyre=28-622&rim=622x17&tyre_max=80",
              "tyre=28-622&rim=622x17&edge=round"],
)  # fmt: skip
def test_nonsense_is_answered_with_what_to_do(client, query):
    answer = client.get(f"/fit?{query}")
    assert answer.status_code == 422 and 'role="alert"' in answer.text


def test_the_lower_pressure_counts(client):
    asked = "tyre=28-622&rim=622x17C&tyre_max=7 bar&rim_max=6 bar"
    assert "600 kPa" in client.get(f"/fit?{asked}").text


def test_an_unsure_reading_gives_no_sure_fit(client):
    """Below likely nothing is built on it: not a grade, not a list of what goes with it."""
    part = snap(client, pretend.photo(pretend.GREEN)).rpartition("/")[2]
    page = client.get(f"/fit?tyre_part={part}&rim=590x21C").text
    assert "Can&#39;t tell</strong>" in page and "not read surely enough" in page
    assert 'class="grade good"' not in page
    for path in (f"/fit?tyre_part={part}", f"/wheel?tyre_part={part}", f"/bins?fits_part={part}"):
        page = client.get(path).text
        assert "not read surely enough" in page and 'class="fits"' not in page


def test_a_likely_reading_is_told_as_such_wherever_it_goes(client):
    store.add_part(
        client.app.state.stock.catalogue,
        place=store.Place("A"),
        size=Size(507, 47),
        kind="tyre",
    )
    part = snap(client, pretend.photo(pretend.BLUE), kind="rim").rpartition("/")[2]
    for path in (f"/fit?rim_part={part}", f"/bins?fits_part={part}"):
        page = client.get(path).text
        assert "if it is right" in page and "47-507" in page, path
        assert 'class="row good"' not in page and 'class="good"' not in page


def test_a_part_that_left_the_bench_is_no_trouble(client):
    assert client.get("/fit?tyre_part=gone&rim=590x21C").status_code == 200


def test_the_wheel_page(client):
    """28-622 rolls 2136 or 2124 mm by two published lists (circumference.csv)."""
    page = client.get("/wheel?tyre=28-622&instead=47-584").text
    assert "2130 mm" in page and "In its place: 47-584" in page
    assert client.get("/wheel?tyre=rubber").status_code == 422


def test_the_names_page_finds_what_it_lists(client):
    page = client.get("/names?find=26 x 1 3/8").text
    assert ">590<" in page and ">622<" not in page


def test_the_section_is_to_scale():
    drawn = section(Size(622, 28), 19)
    svg = section_svg(drawn, 28, "C")
    points = svg.partition('points="')[2].partition('"')[0].split()
    xs = [float(point.split(",")[0]) for point in points]
    assert max(xs) - min(xs) == pytest.approx(28, abs=0.1)
    assert xs[-1] - xs[0] == pytest.approx(19, abs=0.02)
    assert 'role="img"' in svg and "Section to scale" in svg


ASKED = [(Size(seat.bsd), None) for seat in load_tables().seats]
ASKED += [(Size(one), Size(other)) for one, other in [(559, 590), (590, 635), (584, 540)]]


@pytest.mark.parametrize(("size", "other"), ASKED, ids=str)
def test_no_line_of_the_ruler_crosses_a_label(size, other):
    """Letters are taken as 7 units wide, as wide as they stand in the browser."""
    svg = str(ruler_of(size, other))
    lines = re.findall(r'class="tick \w+" d="M\S+ V\S+ L(\S+?),(\S+) V(\S+)"', svg)
    texts = re.findall(r'<text class="(?:label|gap|figure \w+)" x="(\S+)" y="(\S+)">([^<]+)', svg)
    assert lines and texts
    for at, bend, foot in [map(float, line) for line in lines]:
        for x, y, text in texts:
            top = float(y) - 12
            assert bend <= top and (foot <= top or abs(float(x) - at) >= 3.5 * len(text)), text


def test_the_ruler_is_to_scale_and_shows_the_neighbours():
    svg = seats_svg(590, [Seat(584, "650B"), Seat(587), Seat(590), Seat(597), Seat(622)], 597)
    ticks = dict(zip((584, 587, 590, 597), ticks_of(svg), strict=True))
    scale = (ticks[597] - ticks[590]) / 7
    assert ticks[590] == 0
    assert ticks[584] == pytest.approx(-6 * scale, abs=0.1)
    assert "622" not in svg and "+7 mm" in svg and "−6 mm" in svg


def ticks_of(svg):
    pieces = svg.split('class="tick')[1:]
    return [float(piece.partition('d="M')[2].partition(",")[0]) for piece in pieces]


def test_a_makers_range_and_a_printed_pressure_count(client):
    """28-622 on 25 mm is in no table held here; the rim's maker allows 25 to 47."""
    page = client.get("/fit?tyre=28-622&rim=622x25C&rim_allows=25-47&tyre_max=65-95 PSI").text
    assert "Allowed by its maker" in page and "overrules every table" in page
    assert "95 psi" in page and "65 psi" in page
    barred = client.get("/fit?tyre=28-622&rim=622x25C&rim_allows=25-47&tyre_allows=17-21").text
    assert "Never" in barred
    assert client.get("/fit?tyre=28-622&rim=622x25C&rim_allows=wide").status_code == 422
    api = client.get("/api/fit?tyre=28-622&rim=622x25C&tyre_allows=19-25&tyre_min=3 bar").json()
    assert api["grade"] == "allowed by its maker" and api["at_least"]["kpa"] == 300


def test_sources_are_named_in_words(client):
    page = client.get("/fit?tyre=28-622&rim=622x19C").text
    assert "as reprinted on a tyre maker&#39;s page" in page and ">VIT<" not in page
    assert "Japanese quick table" in client.get("/wheel?tyre=35-622").text
