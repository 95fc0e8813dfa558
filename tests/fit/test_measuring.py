"""Tape measures against plane geometry and SciPy's normal distribution."""

from __future__ import annotations

import math

import pytest
from scipy.stats import norm

from reader.errors import InputError
from reader.fit.measure import Taped, from_rim, from_tyre, parse_taped
from reader.tables import load_tables

TABLES = load_tables()


def test_a_wheel_is_90_to_900_mm_across() -> None:
    assert parse_taped("90 mm across").diameter == 90
    assert parse_taped("900 mm across").diameter == 900
    for text in ("89.9 mm across", "900.1 mm across"):
        with pytest.raises(InputError, match="no wheel"):
            parse_taped(text)


@pytest.mark.parametrize("market", ["world", "japan", "britain"])
def test_a_bare_rims_shares_are_prior_times_likelihood(market: str) -> None:
    """Bayes' rule; the likelihood is SciPy's normal density around each expected diameter."""
    found = from_rim(parse_taped("605 mm across"), TABLES, market)
    weights = [
        TABLES.prior(one.size.bsd, market) * norm.pdf(605, one.expected, one.sigma) for one in found
    ]
    for one, weight in zip(found, weights, strict=True):
        assert one.share == pytest.approx(weight / sum(weights))
        assert one.expected == one.size.bsd + 12  # both flanges, from memory
        assert one.from_memory is TABLES.seat[one.size.bsd].from_memory
    assert len(found) > 3


@pytest.mark.parametrize("market", ["world", "japan"])
def test_a_tyres_shares_are_prior_times_widths_times_likelihood(market: str) -> None:
    found = from_tyre(Taped(650, 1.0, "across", 650, 2.0), TABLES, market=market)
    weights = [
        TABLES.prior(one.size.bsd, market)
        * TABLES.width_weight["tyre", one.size.width]
        * norm.pdf(650, one.expected, one.sigma)
        for one in found
    ]
    for one, weight in zip(found, weights, strict=True):
        assert one.share == pytest.approx(weight / sum(weights))
        assert one.expected == one.size.bsd + 2 * one.size.width


def test_a_width_near_the_callipers_is_likelier_than_one_3_mm_off() -> None:
    """Two tyres of one outer diameter are told apart by the width alone."""
    known = from_tyre(parse_taped("1890 around"), TABLES, width=47)
    free = from_tyre(parse_taped("1890 around"), TABLES)

    def odds(some, width):
        mine = {one.size.width: one.share for one in some if one.size.bsd == 507}
        return mine[47] / mine[width]

    assert {one.size.width for one in known} <= set(range(44, 51))
    for width in (44, 50):
        ratio = odds(known, width) / odds(free, width)
        assert ratio == pytest.approx(math.exp(0.5 * (3 / 1.5) ** 2), rel=1e-6)
