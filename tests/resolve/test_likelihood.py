"""Weights: what one reading is worth, and how looks, engines and repetitions are pooled."""

from __future__ import annotations

import numpy as np
import pytest

from reader.records import Marking, Size
from reader.resolve.likelihood import Heading, Weigher, pool
from reader.resolve.rivals import gather
from reader.tables import load_tables

TABLES = load_tables()


def weigher(markings, part="tyre"):
    places = gather(markings)
    return Weigher(places, part, TABLES, "world"), places


def value(made, places, size, part="tyre"):
    index = made.headings.index(Heading(size, part))
    return made.weigh(places)[:, index]


def test_clear_pair_outweighs_every_prior(line, found):
    """A rare size that is clearly read beats the most common one nearby."""
    made, places = weigher(found(line("32-597")))
    weight = value(made, places, Size(597, 32)).sum()
    ratio = TABLES.prior(597, "world") / TABLES.prior(622, "world")
    assert weight > 6 > -0.5 * np.log(ratio)


def test_single_inch_name_gives_back_the_shares_of_the_table(line, found):
    """With one marking alone, belief among its meanings is the table's own share."""
    made, places = weigher(found(line("26 x 1 3/8")))
    posterior = np.exp(made.log_prior + np.log(np.expm1(made.weigh(places).sum(axis=0))))
    shares = {m.size: m.share for m in made.meanings(places[0].best)}
    mine = {h.size: p / posterior.sum() for h, p in zip(made.headings, posterior, strict=True)}
    assert mine == pytest.approx(shares, rel=0.02)


def test_costlier_readings_weigh_less(line, found):
    weights = []
    for score in (1.0, 0.6, 0.2):
        made, places = weigher(found(line("47-507", score=score)))
        weights.append(value(made, places, Size(507, 47))[0])
    assert weights == sorted(weights, reverse=True)


def test_two_engines_that_agree_add_a_part_only(line, found):
    one, alone = weigher(found(line("47-507")))
    two, both = weigher(found(line("47-507"), line("47-507", engine="moulded")))
    better, trusted = weigher(found(line("47-507", engine="moulded")))
    single = max(value(*each, Size(507, 47))[0] for each in ((one, alone), (better, trusted)))
    double = value(two, both, Size(507, 47))[0]
    assert single < double < 1.6 * single


def test_looks_of_one_engine_that_agree_add_nothing(line, found):
    one, alone = weigher(found(line("47-507")))
    two, both = weigher(found(line("47-507"), line("47-507", y=3)))
    assert value(two, both, Size(507, 47))[0] == pytest.approx(value(one, alone, Size(507, 47))[0])


def test_looks_of_one_engine_that_differ_share_the_weight(line, found):
    made, places = weigher(found(line("47-507"), line("47-547", y=3)))
    assert len(places) == 1
    first, second = (value(made, places, Size(b, 47))[0] for b in (507, 547))
    assert first == pytest.approx(second)


def test_unclear_engine_does_not_dilute_a_clear_one():
    logs = np.array([[6.0, 0.0], [0.1, 0.2]])
    assert pool(np.array([1.0, 0.001]), logs, 0.4)[0] == pytest.approx(6.0, abs=0.05)


def test_same_text_again_counts_less(line, found):
    places = gather(found(line("47-507"), line("47-507", y=90), line("47-507", photo="b.jpg")))
    made = Weigher(places, "tyre", TABLES, "world")
    use = made.weights
    again = sorted([use.again_same_photo, use.again_other_photo, 1.0])
    assert sorted(made.discounts(places)) == again


def test_inch_name_tolerates_the_rounding_of_widths(line, found):
    made, places = weigher(found(line("50-559"), line("26 x 1.95", y=90)))
    weights = made.weigh(places)[:, made.headings.index(Heading(Size(559, 50), "tyre"))]
    assert weights.min() > 3


def test_pair_with_another_width_hardly_supports(line, found):
    made, places = weigher(found(line("47-507"), line("50-507", y=90)))
    weights = sorted(value(made, places, Size(507, 47)))
    assert 0 < weights[0] < 4 < weights[1]


def test_rim_marking_behind_a_tyre_supports_the_diameter_only(line, found):
    made, places = weigher(found(line("622x19C"), line("28-622", y=90)))
    assert {h.size for h in made.headings} == {Size(622), Size(622, 28)}
    assert all(h.part == "tyre" for h in made.headings)
    assert value(made, places, Size(622, 28)).min() > 3
    assert Size(622, 19) not in {h.size for h in made.headings}


def test_other_parts_marking_alone_tells_the_diameter(line, found):
    made, _ = weigher(found(line("622x19C")))
    assert made.headings == [Heading(Size(622), "tyre")]


def test_names_compares_the_diameter_and_the_width_as_far_as_told():
    made = Weigher((), "tyre", TABLES, "world")
    pair = Marking("iso_pair", "47-507", {"width_mm": 47, "bsd_mm": 507})
    assert made.names(pair, Heading(Size(507, 47), "tyre"))
    assert made.names(pair, Heading(Size(507), "tyre"))
    assert not made.names(pair, Heading(Size(507, 50), "tyre"))
    assert not made.names(pair, Heading(Size(559, 47), "tyre"))
    tube = Marking("tube", "47-507", {"bsd_mm": 507, "width_min_mm": 47, "width_max_mm": 50})
    assert made.names(tube, Heading(Size(507, 54), "tyre"))


def test_hopeless_rival_adds_nothing(line, found):
    markings = found(line("47-507"))
    (rival,) = [m for m in found(line("47-547")) if m.notation == "iso_pair"]
    far = Marking("iso_pair", "47-547", rival.numbers, (0, 6), 16.0, markings[0].hypothesis)
    made, places = weigher([*markings, far])
    assert value(made, places, Size(547, 47))[0] == pytest.approx(0, abs=1e-6)
