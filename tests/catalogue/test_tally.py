from itertools import product
from math import comb
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from reader.catalogue import Findings, PhotoRef, Place, Share, add_part, plot_tally, tally
from reader.catalogue.query.plot import WALL, Dot, Words, drawing
from reader.catalogue.query.tally import beside, distribution, interval, summed_up
from reader.errors import CatalogueError, InputError
from reader.records import Size


def part(catalogue, name, *shares, quantity=1, bin="A", kind="tyre"):
    made = tuple(Share(kind, bsd, width, p) for width, bsd, p in shares)
    found = Findings("likely", kind, made, "{}")
    photo = PhotoRef(f"{name:0>40}", f"/{name}", name, f"2026-0{1 + len(name)}-01T10:00:00")
    return add_part(catalogue, found, [photo], Place(bin), quantity=quantity)


@pytest.fixture
def stocked(catalogue):
    part(catalogue, "1", (37, 590, 0.6), (32, 597, 0.3))
    part(catalogue, "2", (37, 590, 0.5), (40, 590, 0.5), quantity=4)
    part(catalogue, "33", (19, 622, 0.9), kind="rim", bin="B")
    add_part(catalogue, size=Size(590, 37), kind="tyre", quantity=2)
    return catalogue


def test_each_part_counts_by_its_probability(stocked) -> None:
    lines = {line.name: line for line in tally(stocked, "size", kind="tyre")}
    assert lines["37-590 tyre"].expected == pytest.approx(2 + 0.6 + 4 * 0.5)
    assert (lines["37-590 tyre"].certain, lines["37-590 tyre"].possible) == (2, 7)
    assert lines["not read"].expected == pytest.approx(0.1)
    total = sum(line.expected for line in tally(stocked, "size"))
    assert total == pytest.approx(8), "no piece is lost or counted twice"


@pytest.mark.parametrize("by", ["size", "bsd", "width", "kind", "month", "year", "bin", "depot"])
def test_every_count_adds_up_to_all_pieces(stocked, by) -> None:
    lines = tally(stocked, by)
    assert sum(line.expected for line in lines) == pytest.approx(8)
    assert all(line.low <= line.expected <= line.high for line in lines)


def test_widths_of_one_diameter_are_one_diameter(stocked) -> None:
    lines = {line.name: line for line in tally(stocked, "bsd")}
    assert lines["590 mm"].certain == 6, "37 or 40 mm, but 590 mm surely"


def test_width_classes_and_months(stocked) -> None:
    assert {line.name for line in tally(stocked, "width")} >= {"30 to 39 mm", "10 to 19 mm"}
    assert "2026-02" in {line.name for line in tally(stocked, "month")}


def test_distribution_against_enumeration() -> None:
    cells = [(0.2, 1, 1), (0.7, 3, 1), (0.5, 2, 2)]
    single = [(p, q) for p, q, n in cells for _ in range(n)]
    expected = [0.0] * (sum(q for _, q in single) + 1)
    for outcome in product((0, 1), repeat=len(single)):
        chance, count = 1.0, 0
        for (p, q), hit in zip(single, outcome, strict=True):
            chance *= p if hit else 1 - p
            count += q * hit
        expected[count] += chance
    assert distribution(cells) == pytest.approx(expected)


def test_distribution_of_equal_chances_is_the_binomial() -> None:
    expected = [comb(30, k) * 0.3**k * 0.7 ** (30 - k) for k in range(31)]
    assert distribution([(0.3, 1, 30)]) == pytest.approx(expected)


def test_interval_against_a_published_table() -> None:
    # Cumulative binomial tables (NIST/SEMATECH e-Handbook 1.3.6.6.18 gives the formula; values of
    # n = 20, p = 0.5 as in any printed table): P(X <= 5) = 0.0207, P(X <= 6) = 0.0577,
    # P(X <= 13) = 0.9423, P(X <= 14) = 0.9793.
    assert interval([(0.5, 1, 20)]) == (6, 14)


def test_normal_curve_takes_over_smoothly() -> None:
    exact = interval([(0.4, 1, 400)])
    curve = interval([(0.4, 1, 401)])
    assert abs(exact[0] - curve[0]) <= 1 and abs(exact[1] - curve[1]) <= 2


def test_certain_is_what_was_read_sure_and_settled_stands_apart(catalogue) -> None:
    sure = Findings("sure", "tyre", (Share("tyre", 622, 37, 0.995),), "{}")
    add_part(catalogue, sure, [PhotoRef("1" * 40, "/1", "1")], quantity=3)
    part(catalogue, "2", (37, 622, 0.9))
    add_part(catalogue, size=Size(622, 37), kind="tyre", quantity=2)
    (line,) = [line for line in tally(catalogue, "size") if line.name == "37-622 tyre"]
    assert (line.certain, line.settled, line.possible) == (5, 2, 6)
    assert tally(catalogue)[0].name == "622 mm", "by diameter, if nothing else is asked for"


def test_depots_stand_beside_each_other(stocked) -> None:
    add_part(stocked, None, (), Place("A", depot="North"), size=Size(622, 37), kind="tyre")
    found = beside(stocked, "bsd", "depot")
    assert set(found) == {"", "North"}
    assert [line.name for line in found["North"]] == ["622 mm"]
    whole = {line.name: line.expected for line in tally(stocked, "bsd")}
    for name, expected in whole.items():
        parts = [line.expected for lines in found.values() for line in lines if line.name == name]
        assert sum(parts) == pytest.approx(expected)
    assert tally(stocked, "bsd", depot="North")[0].expected == 1
    with pytest.raises(InputError, match="use one of: month, year, bin, depot"):
        beside(stocked, "bsd", "width")


def test_traces_are_one_line_and_never_the_longest(catalogue) -> None:
    for number in range(9):
        part(catalogue, str(number), *((w, 622, 0.04) for w in range(20, 40)), (37, 590, 0.2))
    lines = summed_up(tally(catalogue, "size"))
    assert [line.name for line in lines] == ["37-590 tyre", "rest, 20 sorts"]
    assert lines[1].expected == pytest.approx(7.2)


def test_a_mark_stands_for_each_piece_and_is_hollow_where_unsure(catalogue) -> None:
    add_part(catalogue, size=Size(590, 37), kind="tyre", quantity=3)
    for number in range(4):
        part(catalogue, str(number), (37, 590, 0.5), (37, 622, 0.5))
    made = drawing(tally(catalogue, "bsd"), "Title")
    rows: dict[float, list[bool]] = {}
    for item in made.items:
        if isinstance(item, Dot) and item.y >= WALL.top:
            rows.setdefault(item.y, []).append(item.filled)
    assert list(rows.values()) == [[True] * 3 + [False] * 2, [False] * 2]
    texts = [item.text for item in made.items if isinstance(item, Words)]
    assert "590 mm" in texts and "5 (3 to 7)" in texts


def test_unknown_sort(file_catalogue) -> None:
    with pytest.raises(InputError, match="use one of"):
        tally(file_catalogue, "colour")


def test_plot_as_png_and_svg(stocked, tmp_path) -> None:
    lines = tally(stocked)
    plot_tally(lines, tmp_path / "t.png", "Sizes")
    plot_tally(lines, tmp_path / "t.svg", "Sizes")
    with Image.open(tmp_path / "t.png") as picture:
        assert picture.width > 600
    assert ET.parse(tmp_path / "t.svg").getroot().tag.endswith("svg")
    with pytest.raises(InputError, match="neither"):
        plot_tally(lines, tmp_path / "t.doc", "Sizes")
    with pytest.raises(InputError, match="nothing to draw"):
        plot_tally([], tmp_path / "t.png", "Sizes")
    with pytest.raises(CatalogueError, match="can't be written"):
        plot_tally(lines, tmp_path / "nowhere" / "t.png", "Sizes")
