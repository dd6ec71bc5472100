"""Draws against closed forms: one input, products, sums with and without shared inputs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from heatbrief.estimate.draws import COUNT, Drawn, draws
from heatbrief.estimate.terms import METHOD, drawn, factors_of, moved, terms_of, total, yearly
from heatbrief.model import Estimate, Factor, Quantity, Term
from heatbrief.model.costs import MoneyFacts
from hypothesis import given, settings
from hypothesis import strategies as st

exact = Quantity.exact
values = st.floats(1.0, 1e4)
shares = st.floats(0.01, 0.3)


def around(value: float, share: float, unit: str = "1") -> Quantity:
    return Quantity(value, unit, value * (1 - share), value * (1 + share))


@settings(deadline=None)
@given(value=values, below=shares, above=shares)
def test_one_input_keeps_its_own_bounds(value, below, above):
    """95 % of the draws of a split normal distribution lie within the bounds it was made of."""
    given_ = Quantity(value, "1", value * (1 - below), value * (1 + above))
    found = Drawn(value, draws("an input", given_)).quantity("1")
    assert found.low == pytest.approx(given_.low, rel=2e-3) and found.high == pytest.approx(given_.high, rel=2e-3)


def test_draws_follow_the_name_and_nothing_else():
    one = around(3.0, 0.1)
    assert np.array_equal(draws("a", one), draws("a", one)) and not np.array_equal(draws("a", one), draws("b", one))
    order = np.argsort(draws("a", one))
    assert np.array_equal(order, np.argsort(draws("a", around(50.0, 0.2)))), (
        "the same order for another value of the input"
    )
    assert abs(np.corrcoef(draws("a", one), draws("b", one))[0, 1]) < 4 / math.sqrt(COUNT)


def test_draws_stay_where_a_quantity_can_be():
    assert draws("x", Quantity(1.0, "1", 0.0, 9.0)).min() >= 0.0
    assert draws("y", Quantity(1.0, "1", 0.4, 9.0)).min() >= 0.2
    assert np.all(draws("z", exact(4.0, "1")) == 4.0)


@settings(deadline=None)
@given(a=values, b=values, s=shares, t=shares)
def test_independent_terms_add_in_quadrature(a, b, s, t):
    """GUM 5.1.2. The bounds of the sample may differ by its own scatter, about 3 % with this many draws."""
    found = total(
        [Term("x", "1", 1.0, (Factor("first", around(a, s)),)), Term("x", "1", 1.0, (Factor("second", around(b, t)),))]
    )
    half = math.hypot(a * s, b * t)
    assert found.quantity("1").half_width == pytest.approx(half, rel=0.05)


@settings(deadline=None)
@given(a=values, b=values, s=shares)
def test_a_shared_input_adds_straight(a, b, s):
    """Two findings whose only doubt is one price: the sum has exactly the relative bounds of the price."""
    price = Factor("price", around(1.0, s))
    found = total([Term("x", "1", a, (price,)), Term("x", "1", b, (price,))]).quantity("1")
    assert found.half_width == pytest.approx((a + b) * s, rel=1e-3)


@settings(deadline=None)
@given(a=values, s=st.floats(0.02, 0.15), t=st.floats(0.02, 0.15))
def test_a_product_and_a_ratio_add_relative_bounds_in_quadrature(a, s, t):
    """GUM 5.1.6, first order; the tolerance holds the second order at these widths and the scatter of the sample."""
    for power in (1, -1):
        term = Term("x", "1", a, (Factor("first", around(2.0, s)), Factor("second", around(5.0, t), power)))
        found = drawn(term).quantity("1")
        assert found.value == pytest.approx(a * 2.0 * 5.0**power)
        assert found.half_width / found.value == pytest.approx(math.hypot(s, t), rel=0.09)


def test_a_ratio_to_something_that_may_be_nothing_has_no_bounds():
    cost, saving = Drawn.exact(100.0), Drawn(5.0, draws("s", Quantity(5.0, "1", -1.0, 9.0)))
    assert cost.over(saving).quantity("a") is None
    assert cost.over(Drawn.exact(0.0)) is None
    assert cost.over(Drawn.exact(8.0)).quantity("a") == exact(12.5, "a", "")


def test_moving_one_input_moves_every_term_it_stands_in():
    price, own = Factor("price", Quantity(2.0, "1", 1.0, 4.0)), Factor("own", around(10.0, 0.1))
    terms = [Term("x", "1", 1.0, (price, own)), Term("x", "1", 3.0, (price,))]
    assert moved(terms, "price") == pytest.approx((13.0, 52.0)) and moved(terms, "own") == pytest.approx((24.0, 28.0))
    assert set(factors_of(terms)) == {"price", "own"}


# --- money and emissions -------------------------------------------------------------------

MONEY = MoneyFacts(
    {"electricity": exact(0.16, "USD/kWh"), "gas": exact(0.5, "USD/m3"), "water": exact(1.6, "USD/m3")}, "USD"
)


@pytest.mark.parametrize(
    ("fuel", "kg"), [("gas", 0.1810), ("oil", 0.2496), ("propane", 0.2152), ("electricity", 0.367)]
)
def test_emissions_of_a_kilowatt_hour(fuel, kg):
    """US EIA 2012 and 2016 coefficients and the 2023 average of the US grid (seen), converted."""
    found = yearly((Term(fuel, "kWh/a", 1.0),), MONEY).quantities("cost", "USD")["yearly_emissions"]
    assert found.value == pytest.approx(kg, abs=6e-4) and found.unit == "kg/a"


def test_a_stated_emission_factor_wins_and_water_has_none():
    local = MoneyFacts(MONEY.prices, "USD", {"electricity": exact(0.05, "kg/kWh")})
    assert yearly((Term("electricity", "kWh/a", 10.0),), local).quantities("c", "USD")[
        "yearly_emissions"
    ].value == pytest.approx(0.5)
    water = yearly((Term("water", "m3/a", 10.0),), MONEY).quantities("c", "USD")
    assert water["c"].value == pytest.approx(16.0) and "yearly_emissions" not in water


def test_money_is_left_out_when_one_part_has_no_price():
    found = yearly((Term("electricity", "kWh/a", 10.0), Term("oil", "kWh/a", 10.0)), MONEY)
    assert found.unpriced == ("oil",) and "c" not in found.quantities("c", "USD")


def test_an_estimate_without_terms_is_taken_as_it_stands():
    figures = {"yearly_energy": around(100.0, 0.1, "kWh/a"), "yearly_cost": around(16.0, 0.2, "USD/a")}
    (term,) = terms_of(Estimate("e", "f", "k", "t", figures), MONEY)
    assert term.buys == "electricity" and drawn(term).quantity("kWh/a", METHOD).value == 100.0
    (sum_,) = terms_of(Estimate("e", "f", "k", "t", {"yearly_cost": around(16.0, 0.2, "USD/a")}), MONEY)
    assert sum_.buys == "money" and sum_.unit == "USD/a"
    (wet,) = terms_of(Estimate("e", "f", "k", "t", {"yearly_water": around(3.0, 0.2, "m3/a")}), MONEY)
    assert wet.buys == "water"
    assert terms_of(Estimate("e", "f", "k", "t", {"heat_flow": exact(1.0, "W")}), MONEY) == ()
