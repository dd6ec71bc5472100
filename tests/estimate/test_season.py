"""Yearly energy and money against published worked examples; nothing is invented where a fact is missing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.api import Context, View
from heatbrief.estimate.season import Settings, conductance_of, price_per_kwh, run, season_heat
from heatbrief.estimate.season_settings import DEFAULT_BASE
from heatbrief.model import Conditions, Finding, Quantity, Region

exact = Quantity.exact


def test_the_usual_base_is_65_fahrenheit():
    assert DEFAULT_BASE.value == pytest.approx((65 - 32) / 1.8) and DEFAULT_BASE.unit == "degC"


BTU_H_F = 0.52752792631
"""W/K per Btu/(h degF)."""


def finding(**more):
    measured = {
        "contrast": Quantity.between(-2.2, -1.8, "K", -2.0),
        "area": Quantity.between(0.9, 1.1, "m2", 1.0),
        "air difference": exact(20.0, "K"),
        "mean temperature": exact(18.0, "degC"),
        **more,
    }
    return Finding(
        "one",
        "envelope",
        "envelope.insulation",
        "room",
        "wall",
        "t",
        "s",
        "defect",
        "plan",
        0.9,
        measured={k: v for k, v in measured.items() if v},
    )


def context(**prices):
    now = Conditions(inside_air=exact(20.0, "degC"), outside_air=exact(0.0, "degC"))
    return Context(
        conditions=now,
        regions=(Region("wall", "room", shows="wall"),),
        views={"room": View("room", shows="wall")},
        prices=prices,
    )


@pytest.mark.parametrize(
    ("conductance", "days", "kwh"),
    [
        (200.0, 2500.0, 12000.0),
        (500.0 * BTU_H_F, 4000.0 / 1.8, 14067.0),
        (500.0 * BTU_H_F, 1300.0 / 1.8, 15.6e6 / 3412.14),
    ],
    ids=["EX-6.4", "EX-6.5", "EX-6.6"],
)
def test_season_heat_of_the_worked_examples(conductance, days, kwh):
    """Envelope dossier EX-6.4 to EX-6.6 (degree-day formula; computed there)."""
    assert season_heat(exact(conductance, "W/K"), exact(days, "K*d")).value == pytest.approx(kwh, rel=1e-3)


@pytest.mark.parametrize(("efficiency", "bought"), [(0.92, 13043.0), (3.2, 3750.0)])
def test_energy_bought_for_12000_kwh(efficiency, bought):
    """EX-6.4: 12 000 kWh useful is 13 043 kWh at 0.92 and 3 750 kWh at a seasonal factor of 3.2. The finding is scaled
    to UA 200 W/K."""
    settings = Settings(
        heating_degree_days=exact(2500.0, "K*d"),
        cooling_degree_days=exact(0.0, "K*d"),
        heating_efficiency=exact(efficiency, "1"),
    )
    (one,) = run((finding(),), settings, context(gas=exact(0.1, "USD/kWh"))).estimates
    heat, energy = one.quantities["yearly_heat_heating"], one.quantities["yearly_energy"]
    assert energy.value / heat.value * 12000.0 == pytest.approx(bought, rel=1e-3)
    assert one.quantities["yearly_cost"].value == pytest.approx(0.1 * energy.value)
    assert one.quantities["yearly_cost"].unit == "USD/a" and energy.unit == "kWh/a"


def test_a_finding_from_contrast_to_money_by_hand():
    """2 K, 1 m2, h about 7: 14 W at 20 K is 0.70 W/K; 2500 K d gives 42 kWh; at 0.9 and 0.10 USD/kWh 4.67 USD."""
    settings = Settings(heating_degree_days=exact(2500.0, "K*d"), heating_efficiency=exact(0.9, "1"))
    (one,) = run((finding(),), settings, context(gas=exact(0.10, "USD/kWh"))).estimates
    assert one.quantities["yearly_heat_heating"].value == pytest.approx(42.0, rel=0.05)
    cost = one.quantities["yearly_cost"]
    assert cost.value == pytest.approx(4.67, rel=0.05) and cost.low < 4.1 and cost.high > 5.3
    assert any("cooling_degree_days" in note for note in one.notes), "the season that is missing is named"


def test_both_seasons_add_and_share_their_bounds():
    both = Settings(
        heating_degree_days=exact(2000.0, "K*d"),
        cooling_degree_days=exact(1000.0, "K*d"),
        heating_efficiency=exact(1.0, "1"),
        cooling_efficiency=exact(2.0, "1"),
        heating_fuel="electricity",
    )
    (one,) = run((finding(),), both, context(electricity=exact(0.2, "USD/kWh"))).estimates
    heat, cold, energy = (
        one.quantities[name] for name in ("yearly_heat_heating", "yearly_heat_cooling", "yearly_energy")
    )
    assert heat.value == pytest.approx(2 * cold.value)
    assert energy.value == pytest.approx(heat.value + cold.value / 2)
    assert energy.high - energy.value == pytest.approx((heat.high - heat.value) + (cold.high - cold.value) / 2)


@pytest.mark.parametrize(
    ("settings", "prices", "has", "lacks"),
    [
        (Settings(), {}, (), ("yearly_energy",)),
        (
            Settings(heating_degree_days=exact(2500.0, "K*d")),
            {},
            ("yearly_heat_heating",),
            ("yearly_energy", "yearly_cost"),
        ),
        (
            Settings(heating_degree_days=exact(2500.0, "K*d"), heating_efficiency=exact(0.9, "1")),
            {},
            ("yearly_energy",),
            ("yearly_cost",),
        ),
    ],
)
def test_missing_facts_leave_their_figures_out_and_are_named(settings, prices, has, lacks):
    output = run((finding(),), settings, context(**prices))
    quantities = output.estimates[0].quantities if output.estimates else {}
    assert all(name in quantities for name in has) and not any(name in quantities for name in lacks)
    said = " ".join(output.notes + (output.estimates[0].notes if output.estimates else ()))
    assert "set `" in said or "give `" in said


def test_the_conductance_needs_the_difference_at_the_time():
    assert conductance_of(finding(), exact(14.0, "W"), context()).value == pytest.approx(0.7)
    bare = replace(context(), conditions=Conditions(inside_air=exact(20.0, "degC")))
    assert conductance_of(finding(**{"air difference": None}), exact(14.0, "W"), bare) is None


@pytest.mark.parametrize(
    ("fuel", "price", "per_kwh"),
    [
        ("gas", exact(0.0477699, "USD/kWh"), 0.0477699),
        ("gas", exact(0.50, "USD/m3"), 0.50 / 10.608),
        ("oil", exact(1000.0, "USD/m3"), 1000.0 * 0.0037854 / 40.65),
    ],
)
def test_prices_per_volume_go_through_the_heat_content(fuel, price, per_kwh):
    """Heat contents of the US Energy Information Administration: 0.3004 kWh per ft3 of gas (10.608 per m3), 40.65 kWh
    per gallon of oil."""
    assert price_per_kwh(fuel, {fuel: price}, "USD").value == pytest.approx(per_kwh, rel=1e-3)


def test_prices_of_another_currency_or_unit_are_not_used():
    assert price_per_kwh("gas", {"gas": exact(0.1, "EUR/kWh")}, "USD") is None
    assert price_per_kwh("electricity", {"electricity": exact(0.1, "USD/m3")}, "USD") is None


def test_a_duct_follows_its_running_hours():
    """4.14 W over 1000 h at a seasonal factor of 3: 1.38 kWh."""
    duct = replace(finding(), check="envelope.duct")
    settings = Settings(
        duct_hours=exact(1000.0, "h"), cooling_efficiency=exact(3.0, "1"), heating_efficiency=exact(3.0, "1")
    )
    (one,) = run((duct,), settings, context()).estimates
    heat = one.quantities["yearly_heat_running"]
    assert one.quantities["yearly_energy"].value == pytest.approx(heat.value / 3.0)
    assert run((duct,), Settings(), context()).estimates == ()


def test_a_hot_attic_adds_its_rise_over_the_hours_of_cooling():
    """0.70 W/K x (1000 K d x 24 h + 7.2 K x 1500 h) = 24.3 kWh; 7.2 K: ASHRAE 152, vented attic, season."""
    attic = replace(
        context(),
        conditions=Conditions(inside_air=exact(24.0, "degC"), outside_air=exact(36.0, "degC")),
        regions=(Region("wall", "room", shows="wall", facts={"air_beyond": exact(44.0, "degC")}),),
    )
    plain = Settings(cooling_degree_days=exact(1000.0, "K*d"), cooling_efficiency=exact(3.0, "1"))
    hot = replace(plain, attic_rise=exact(7.2, "K"), cooling_hours=exact(1500.0, "h"))
    (without,), (with_rise,) = (run((finding(),), one, attic).estimates for one in (plain, hot))
    ratio = with_rise.quantities["yearly_heat_cooling"].value / without.quantities["yearly_heat_cooling"].value
    assert ratio == pytest.approx((24000.0 + 10800.0) / 24000.0)
    assert any("attic_rise" in note for note in without.notes)
    assert not any("attic_rise" in note for note in with_rise.notes)
    mild = replace(attic, regions=(Region("wall", "room", shows="wall"),))
    (unmoved,) = run((finding(),), hot, mild).estimates
    assert unmoved.quantities["yearly_heat_cooling"] == without.quantities["yearly_heat_cooling"]
