"""Economics: closed forms against sums, and rates against their own definitions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from heatbrief.physics import economics as ec
from hypothesis import given
from hypothesis import strategies as st

rate, years = st.floats(0.001, 0.2), st.integers(1, 60)


@given(d=rate, n=years)
def test_uniform_factor_is_the_closed_form(d: float, n: int) -> None:
    assert ec.uniform_present_worth_factor(d, n) == pytest.approx((1 - (1 + d) ** -n) / d, rel=1e-9)


@given(d=rate, e=st.floats(0.0, 0.05), n=years)
def test_timing_shifts_by_one_growth_ratio(d: float, e: float, n: int) -> None:
    end, middle, beginning = (ec.uniform_present_worth_factor(d, n, e, t) for t in ("end", "middle", "beginning"))
    assert end * (1 + d) / (1 + e) == pytest.approx(beginning)
    assert min(end, beginning) * (1 - 1e-12) <= middle <= max(end, beginning) * (1 + 1e-12)


@given(cost=st.floats(10.0, 1e5), saving=st.floats(1.0, 1e4), n=years)
def test_npv_vanishes_at_the_rate_of_return(cost: float, saving: float, n: int) -> None:
    found = ec.internal_rate_of_return(cost, saving, n)
    if math.isfinite(found):
        # far below zero the value is so steep in the rate that rounding alone exceeds the cost
        assert found < -0.5 or ec.net_present_value(cost, saving, found, n) == pytest.approx(0.0, abs=1e-6 * cost)
    assert math.isnan(ec.internal_rate_of_return(cost, 0.0, n))


@given(cost=st.floats(10.0, 1e5), saving=st.floats(1.0, 1e4), d=rate)
def test_discounting_never_shortens_payback(cost: float, saving: float, d: float) -> None:
    simple, discounted = ec.simple_payback(cost, saving), ec.discounted_payback(cost, saving, d)
    assert discounted >= simple * (1 - 1e-9)
    if math.isfinite(discounted):
        worth = saving * (1 - (1 + d) ** -discounted) / d
        assert worth == pytest.approx(cost, rel=1e-6)


@given(cost=st.floats(10.0, 1e5), saving=st.floats(1.0, 1e4), d=rate, n=years)
def test_ratio_above_one_means_gain(cost: float, saving: float, d: float, n: int) -> None:
    ratio, gain = ec.savings_to_investment(cost, saving, d, n), ec.net_present_value(cost, saving, d, n)
    assert gain == pytest.approx((ratio - 1) * cost, rel=1e-9, abs=1e-6)


def test_nothing_saved_is_never_paid_back() -> None:
    assert np.array_equal(ec.simple_payback([100.0, 100.0, 0.0], [0.0, -5.0, 0.0]), [math.inf] * 3)
    assert ec.discounted_payback(100.0, 0.0, 0.03) == math.inf
    assert ec.discounted_payback(1000.0, 10.0, 0.05) == math.inf


@given(nominal=st.floats(0.0, 0.3), inflation=st.floats(0.0, 0.3))
def test_real_rate_and_inflation_multiply_back(nominal: float, inflation: float) -> None:
    assert (1 + ec.real_rate(nominal, inflation)) * (1 + inflation) == pytest.approx(1 + nominal)


@pytest.mark.parametrize("bad", [{"years": 2.5}, {"years": -1}, {"years": 10**9}, {"years": 5, "timing": "noon"}])
def test_bad_terms_are_refused(bad: dict) -> None:
    with pytest.raises(ValueError):
        ec.uniform_present_worth_factor(0.03, **bad)


def test_the_ends_of_the_terms_are_allowed() -> None:
    assert ec.uniform_present_worth_factor(0.03, 0) == 0.0 and ec.uniform_present_worth_factor(0.0, 500) == 500.0
    with pytest.raises(ValueError):
        ec.uniform_present_worth_factor(0.03, 501)
    for lost in (-1.0, -1.5):
        with pytest.raises(ValueError):
            ec.uniform_present_worth_factor(lost, 10)


@given(scale=st.floats(1e-3, 1e3), n=st.integers(1, 40))
def test_money_in_another_currency_gives_the_same_rates_and_times(scale: float, n: int) -> None:
    found, same = (ec.internal_rate_of_return(100.0 * k, 30.0 * k, n) for k in (1.0, scale))
    assert same == pytest.approx(found, abs=1e-9)
    assert ec.discounted_payback(100.0 * scale, 30.0 * scale, 0.04) == pytest.approx(
        ec.discounted_payback(100.0, 30.0, 0.04)
    )
    assert ec.simple_payback(100.0 * scale, 30.0 * scale) == pytest.approx(10 / 3)


def test_rates_of_return_of_one_year() -> None:
    """100 now and 110, 1.5 or 300 in a year: 10 %, -98.5 % and 200 %, by definition; there is none below -99 %."""
    assert [ec.internal_rate_of_return(100.0, back, 1) for back in (110.0, 1.5, 300.0)] == pytest.approx(
        [0.1, -0.985, 2]
    )
    assert math.isnan(ec.internal_rate_of_return(100.0, 0.5, 1)) and math.isnan(ec.internal_rate_of_return(0.0, 5.0, 9))
    assert math.isnan(ec.internal_rate_of_return(100.0, 110.0, 0))


def test_payback_without_interest_is_the_simple_one() -> None:
    assert ec.discounted_payback(100.0, 8.0, 0.0) == 12.5
    assert ec.discounted_payback(100.0, 5.0, 0.05) == math.inf
