"""Terms of a year: what they cost and emit, what is guessed of an estimate without terms, and their draws."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.estimate.draws import COUNT, Drawn, draws, summed
from heatbrief.estimate.prices import CUBIC_METRE, emission_factor, kwh_per_m3, price_factor, price_per_kwh
from heatbrief.estimate.terms import METHOD, drawn, factors_of, moved, terms_of, yearly
from heatbrief.model import Estimate, Factor, Quantity, Term
from heatbrief.model.costs import MoneyFacts

from .plan_parts import exact

GALLON_M3 = 231 * 0.0254**3
"""231 cubic inches by definition (NIST SP 811, from memory)."""
KWH_PER_BTU = 1055.05585262 / 3.6e6


@pytest.mark.parametrize(
    ("fuel", "btu", "volume"), [("gas", 1025, 0.3048**3), ("oil", 138690, GALLON_M3), ("propane", 91333, GALLON_M3)]
)
def test_heat_of_a_cubic_metre(fuel, btu, volume):
    """US EIA, Btu per cubic foot or gallon (seen)."""
    assert kwh_per_m3(fuel) == pytest.approx(btu * KWH_PER_BTU / volume, rel=1e-9)
    assert CUBIC_METRE[fuel][1] == pytest.approx(volume, rel=1e-9)
    assert kwh_per_m3("electricity") is None and kwh_per_m3("wood") is None


def test_a_price_by_volume_goes_through_the_heat_content():
    prices = {"gas": Quantity(2.0, "USD/m3", 1.0, 3.0), "oil": exact(0.1, "USD/kWh"), "wood": exact(9.0, "USD/m3")}
    by_heat = price_per_kwh("gas", prices, "USD")
    assert (by_heat.value, by_heat.low, by_heat.high) == pytest.approx([n / kwh_per_m3("gas") for n in (2.0, 1.0, 3.0)])
    assert by_heat.unit == "USD/kWh" and price_per_kwh("oil", prices, "USD") is prices["oil"]
    for fuel, currency in (("gas", "EUR"), ("oil", "EUR"), ("wood", "USD"), ("propane", "USD")):
        assert price_per_kwh(fuel, prices, currency) is None


def test_water_is_priced_by_volume_only():
    per_volume, per_heat = MoneyFacts({"water": exact(2, "USD/m3")}), MoneyFacts({"water": exact(2, "USD/kWh")})
    assert price_factor("water", "m3/a", per_volume) == Factor("price of water", exact(2, "USD/m3"))
    assert price_factor("water", "m3/a", per_heat) is None and price_factor("water", "m3/a", MoneyFacts()) is None


def test_emissions_as_stated_else_published_else_none():
    """0.367 kg/kWh: average of the US grid 2023, US EIA (seen)."""
    stated = MoneyFacts(emissions={"gas": exact(0.2, "kg/kWh"), "wood": exact(0.02, "kg/kWh")})
    assert emission_factor("gas", stated).value.value == 0.2 and emission_factor("wood", stated).value.value == 0.02
    grid = emission_factor("electricity", stated)
    assert grid.value.value == pytest.approx(0.367, abs=6e-4) and grid.value.unit == "kg/kWh"
    assert emission_factor("wood", MoneyFacts()) is None and emission_factor("water", MoneyFacts()) is None


# --- a year --------------------------------------------------------------------------------

MONEY = MoneyFacts({"electricity": exact(0.2, "USD/kWh"), "gas": exact(0.1, "USD/kWh"), "water": exact(2, "USD/m3")})


def test_a_year_sorted_by_what_it_is():
    terms = (Term("money", "USD/a", 7.0), Term("gas", "kWh/a", 10.0), Term("water", "m3/a", 3.0))
    found = yearly(terms, MONEY).quantities("bill", "USD")
    assert {name: one.value for name, one in found.items() if name != "yearly_emissions"} == {
        "yearly_energy": 10.0,
        "yearly_water": 3.0,
        "bill": 1.0 + 6.0 + 7.0,
    }
    assert [one.unit for one in found.values()] == ["kWh/a", "m3/a", "USD/a", "kg/a"]
    assert found["yearly_emissions"].value == pytest.approx(1.81, abs=0.01), "only the gas"


def test_what_has_no_price_is_named_once_and_still_emits():
    found = yearly((Term("oil", "kWh/a", 10.0), Term("oil", "kWh/a", 5.0), Term("gas", "kWh/a", 1.0)), MONEY)
    assert found.unpriced == ("oil",) and len(found.money) == 1 and len(found.emissions) == 3
    assert set(found.quantities("bill", "USD")) == {"yearly_energy", "yearly_emissions"}


def guessed(**given):
    return [(one.buys, one.unit, drawn(one).best) for one in terms_of(Estimate("e", "f", "k", "t", given), MONEY)]


@pytest.mark.parametrize(
    ("cost", "expected"),
    [
        (None, [("electricity", "kWh/a", 100.0)]),
        (20.0, [("electricity", "kWh/a", 100.0)]),
        (10.0, [("gas", "kWh/a", 100.0)]),
        (10.000005, [("gas", "kWh/a", 100.0)]),
        (10.001, [("money", "USD/a", 10.001)]),
        (-10.0, [("money", "USD/a", -10.0)]),
    ],
)
def test_the_fuel_is_the_one_whose_price_fits(cost, expected):
    given = {"yearly_energy": exact(100.0, "kWh/a")}
    assert guessed(**given, **({} if cost is None else {"yearly_cost": exact(cost, "USD/a")})) == expected


def test_water_counts_beside_energy_and_money_only_alone():
    water, energy, cost = exact(3.0, "m3/a"), exact(100.0, "kWh/a"), exact(10.0, "USD/a")
    assert guessed(yearly_water=water, yearly_energy=energy) == [
        ("electricity", "kWh/a", 100.0),
        ("water", "m3/a", 3.0),
    ]
    assert guessed(yearly_water=water, yearly_cost=cost) == [("water", "m3/a", 3.0)]
    assert guessed(yearly_cost=cost) == [("money", "USD/a", 10.0)] and guessed() == []


# --- draws ---------------------------------------------------------------------------------


def test_the_method_names_the_number_of_draws():
    assert METHOD.startswith(f"{COUNT} ") and draws("x", Quantity(1.0, "1", 0.9, 1.1)).size == COUNT


@pytest.mark.parametrize(
    ("low", "least"), [(0.4, 0.2), (0.0, 0.0)], ids=["half of a lower bound above nothing", "never negative"]
)
def test_the_lower_tail_is_cut(low, least):
    """Half a width of 0.6 or more reaches to 3.3 standard deviations, below zero."""
    assert draws("x", Quantity(1.0, "1", low, 9.0)).min() == least


def test_a_negative_bound_is_not_cut():
    assert draws("x", Quantity(1.0, "1", -1.0, 3.0)).min() < -2.0


def test_sums_differences_products_and_ratios_keep_pairs_together():
    one, two = Drawn(2.0, np.array([1.0, 2.0, 3.0])), Drawn(4.0, np.array([4.0, 4.0, 5.0]))
    for made, best, values in (
        (one + two, 6.0, [5, 6, 8]),
        (one - two, -2.0, [-3, -2, -2]),
        (one * two, 8.0, [4, 8, 15]),
        (one.over(two), 0.5, [0.25, 0.5, 0.6]),
        (two.over(Drawn(0.5, np.array([0.5, -1.0, 0.25]))), 8.0, [8.0, np.inf, 20.0]),
    ):
        assert made.best == best and list(made.values) == values
    assert one.over(Drawn(-1.0, one.values)) is None and summed([]).best == 0.0 and not summed([]).values.any()
    three = summed([Drawn.exact(2.0), Drawn.exact(3.0), Drawn.exact(2.0)])
    assert three.best == 7.0 and set(three.values) == {7.0}


def test_bounds_of_draws_leave_out_a_fortieth_on_each_side():
    """Of the numbers 1 to 1000 the middle 95 % are those from 25.5 to 975.5, counted by the middles of their slices."""
    found = Drawn(500.0, np.arange(1.0, 1001.0)).quantity("K", "m")
    assert (found.low, found.high, found.coverage, found.method) == (25.5, 975.5, 0.95, "m")
    assert Drawn(1.0, np.arange(1.0, 1001.0)).quantity("K").low == 1.0
    assert Drawn(2000.0, np.arange(1.0, 1001.0)).quantity("K").high == 2000.0
    for hopeless in (Drawn(np.inf, np.ones(9)), Drawn(1.0, np.full(9, np.inf)), Drawn(1.0, np.full(9, -np.inf))):
        assert hopeless.quantity("K") is None


# --- one input at its bounds ---------------------------------------------------------------


def test_moving_an_input_that_divides_turns_the_ends_round():
    by = Factor("efficiency", Quantity(2.0, "1", 1.0, 4.0), -1)
    sure = Factor("days", exact(10.0, "1"))
    terms = [Term("x", "1", 1.0, (by, sure)), Term("x", "1", 1.0, (sure,))]
    assert moved(terms, "efficiency") == (12.5, 20.0) and moved(terms, "days") == (15.0, 15.0)
    assert list(factors_of(terms)) == ["efficiency"], "what has no bounds moves nothing"
