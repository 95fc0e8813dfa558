from itertools import product
from math import comb
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from reader.catalogue import Findings, PhotoRef, Place, Share, add_part, plot_tally, tally
from reader.catalogue.query.tally import distribution, interval
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


@pytest.mark.parametrize("by", ["size", "bsd", "width", "kind", "month", "year", "bin"])
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
