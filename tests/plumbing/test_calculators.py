"""Leaks, drips, pipe heat, tanks and ground lag against published tables and computed references."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.api import Context
from heatbrief.estimate.terms import yearly
from heatbrief.model import Conditions, Factor, Finding, Quantity, Region
from heatbrief.model.costs import MoneyFacts
from heatbrief_plumbing import ground_lag, leak_rate, pipe_heat
from heatbrief_plumbing.evaporating import flux_by_balance, mass_flux
from heatbrief_plumbing.evaporation import Settings as EvaporationSettings
from heatbrief_plumbing.evaporation import run as evaporation
from heatbrief_plumbing.leak_rate import drip_rate, orifice_flow
from support import run_held

GALLON, PSI, INCH = 3.785411784, 6894.757, 0.0254
exact = Quantity.exact


def finding(check="plumbing.wet_ground", verdict="defect", **measured):
    return Finding("one", "plumbing", check, "bed", "bed", "t", "s", verdict, "soon", 0.9, measured=measured)


def given(prices=None, **facts):
    inside = Conditions(inside_air=exact(20.0, "degC"))
    return Context(regions=(Region("bed", "bed", facts=facts),), prices=prices or {}, conditions=inside)


def money(context):
    return MoneyFacts(currency="USD", prices=context.prices)


def yearly_cost(context, *made):
    """The cost of estimates as it is published; None where a part has no price."""
    terms = [term for one in made for term in one.terms]
    return yearly(terms, money(context)).quantities("yearly_cost", "USD").get("yearly_cost")


@pytest.mark.parametrize(
    ("inches", "psi", "gallons_a_day"),
    [
        (1 / 16, 60, 74000 / 91.25),
        (1 / 8, 60, 296000 / 91.25),
        (1 / 4, 60, 1181500 / 91.25),
        (1 / 32, 60, 6300 / 30.4),
        (1 / 16, 60, 25000 / 30.4),
        (1 / 8, 60, 3200),
        (1 / 4, 60, 13000),
        (1 / 16, 80, 943),
        (1 / 8, 80, 3806),
        (1 / 4, 80, 15226),
    ],
)
def test_published_leak_tables_lie_within_the_bounds(inches, psi, gallons_a_day):
    """P2, tables of US utilities [seen]: Mt Zion (three months at 60 psi, and per day, which fits 80 psi), EPA
    WaterSense, Powder Springs, Durant."""
    flow = orifice_flow(exact(inches * INCH, "m"), exact(psi * PSI, "Pa")).flow
    assert flow.unit == "L/h" and flow.low <= gallons_a_day * GALLON / 24.0 <= flow.high


@pytest.mark.parametrize(("inches", "psi", "gallons_a_day"), [(1 / 16, 60, 100), (1 / 8, 60, 400), (1 / 8, 65, 250)])
def test_tables_known_to_be_wrong_lie_outside(inches, psi, gallons_a_day):
    """P2 [seen]: Defiance is eight times too low; a blog is inconsistent with itself."""
    flow = orifice_flow(exact(inches * INCH, "m"), exact(psi * PSI, "Pa")).flow
    assert not flow.low <= gallons_a_day * GALLON / 24.0 <= flow.high


def test_twice_the_hole_is_four_times_the_water():
    one, two = (orifice_flow(exact(size, "m"), exact(4e5, "Pa")).flow.value for size in (0.001, 0.002))
    assert two == pytest.approx(4.0 * one) and one == pytest.approx(48.8, abs=0.1)


@pytest.mark.parametrize(
    ("drips", "gallons_a_year"), [(60, 2083), (60, 2749), (60, 3000), (10, 347), (10, 458), (10, 500), (60, 2642)]
)
def test_published_drip_counts_lie_within_the_bounds(drips, gallons_a_year):
    """P3: US Geological Survey older and newer text, EPA statements, a utility [seen]."""
    flow = drip_rate(exact(drips, "1")).flow
    assert flow.low * 0.995 <= gallons_a_year * GALLON / 8760.0 <= flow.high * 1.005


def test_a_leak_with_hole_and_pressure_costs_water_and_sewer():
    """P4: 6300 gallons a month at 3 to 8 USD per 1000 gallons is 18.9 to 50.4 USD [computed]."""
    price = Quantity.between(3.0, 8.0, "USD/m3", 5.5).scaled(1000.0 / 1000.0 / GALLON, "USD/m3")
    context = given({"water": price}, hole=exact(INCH / 32, "m"), pressure=exact(60 * PSI, "Pa"))
    (made,) = run_held(leak_rate.STEP, (finding(),), leak_rate.Settings(), context).estimates
    month = yearly_cost(context, made).scaled(1 / 12.0, "USD")
    assert month.low <= 18.9 * 1.2 and month.high >= 50.4 * 0.8
    assert made.quantities["yearly_water"].value == pytest.approx(made.quantities["leak_flow"].value * 8.76)
    both = given({"water": price, "sewer": price}, hole=exact(INCH / 32, "m"), pressure=exact(60 * PSI, "Pa"))
    (twice,) = run_held(leak_rate.STEP, (finding(),), leak_rate.Settings(), both).estimates
    assert yearly_cost(both, twice).value == pytest.approx(2 * yearly_cost(context, made).value)


def test_a_hot_drip_costs_the_published_energy():
    """P4: 21.6 L a day raised by 45 K is 412.5 kWh a year [computed]."""
    context = given(
        {"electricity": exact(0.16, "USD/kWh"), "water": exact(1.6, "USD/m3")},
        drips_a_minute=exact(60, "1"),
        water_temperature=exact(57.0, "degC"),
    )
    settings = leak_rate.Settings(cold_water=12.0, heat_efficiency=1.0)
    (made,) = run_held(leak_rate.STEP, (finding(check="plumbing.pipe"),), settings, context).estimates
    figures = yearly(made.terms, money(context)).quantities("yearly_cost", "USD")
    energy, water = figures["yearly_energy"], figures["yearly_water"]
    assert energy.low <= 412.6 <= energy.high and energy.value == pytest.approx(412.5 * 0.33 / 0.25, rel=0.01)
    assert figures["yearly_cost"].value == pytest.approx(0.16 * energy.value + 1.6 * water.value)
    assert made.notes == ()


@pytest.mark.parametrize(
    ("prices", "missing"),
    [((), "water"), (("electricity",), "water"), (("water",), "whichever warms"), (("water", "gas"), "")],
)
def test_a_hot_drip_without_all_prices_says_which_is_missing(prices, missing):
    known = {name: exact(1.0, "USD/m3" if name == "water" else "USD/kWh") for name in prices}
    context = given(known, drips_a_minute=exact(60, "1"), water_temperature=exact(57.0, "degC"))
    (made,) = run_held(leak_rate.STEP, (finding(),), leak_rate.Settings(), context).estimates
    assert len(made.notes) == bool(missing) and all(missing in one for one in made.notes)
    assert (yearly_cost(context, made) is None) == bool(missing)


def test_leaks_of_one_kind_share_the_doubt_about_outflow():
    """Two equal holes: the shared 20 % do not average out, so the sum is as wide as one."""
    context = given({"water": exact(1.6, "USD/m3")}, hole=exact(0.0015, "m"), pressure=exact(4e5, "Pa"))
    beside = replace(finding(), id="two", region="other")
    context = replace(context, regions=(*context.regions, replace(context.regions[0], name="other")))
    made = run_held(leak_rate.STEP, (finding(), beside), leak_rate.Settings(), context).estimates
    one, both = yearly_cost(context, made[0]), yearly_cost(context, *made)
    assert both.value == pytest.approx(2 * one.value)
    assert both.half_width == pytest.approx(2 * one.half_width, rel=1e-6)


def test_one_hole_brings_its_water_once_and_bounds_of_one_flow_add():
    prices = {"water": exact(1.6, "USD/m3"), "sewer": exact(2.0, "USD/m3")}
    context = given(prices, hole=exact(0.0015, "m"), pressure=exact(4e5, "Pa"))
    weaker = replace(finding(), id="two", probability=0.4)
    (made,) = run_held(leak_rate.STEP, (weaker, finding()), leak_rate.Settings(), context).estimates
    cost, flow = yearly_cost(context, made), made.quantities["leak_flow"]
    assert made.finding == "one"
    assert cost.half_width / cost.value == pytest.approx(flow.half_width / flow.value, rel=0.02)


def test_without_hole_or_drips_nothing_is_worked_out():
    assert run_held(leak_rate.STEP, (finding(),), leak_rate.Settings(), given()).estimates == ()
    known = given(hole=exact(0.001, "m"), pressure=exact(4e5, "Pa"))
    assert run_held(leak_rate.STEP, (finding(verdict="normal"),), leak_rate.Settings(), known).estimates == ()
    assert run_held(leak_rate.STEP, (finding(check="plumbing.radiator"),), leak_rate.Settings(), known).estimates == ()


def bare_metre(diameter, skin):
    each = pipe_heat.pipe_watts_per_metre(exact(skin, "degC"), exact(20.0, "degC"), diameter, exact(0.9, "1"))
    return pipe_heat.heat_of((Factor("metre", each), pipe_heat.STILL_AIR), "W/m", "")


@pytest.mark.parametrize(
    ("diameter", "skin", "watts"),
    [(0.015, 75, 39.9), (0.022, 75, 55.4), (0.028, 75, 68.5), (0.054, 75, 123.8), (0.022, 60, 37.4), (0.015, 42, 13.2)],
)
def test_bare_pipes_against_the_computed_reference(diameter, skin, watts):
    """P10 [computed with ht 1.2.0 and CoolProp 8.0.0]; the copied trade table agrees within 13 % in its 55 K column
    only."""
    found = bare_metre(diameter, skin)
    assert found.value == pytest.approx(watts, rel=0.015) and found.low <= watts <= found.high


@pytest.mark.parametrize(("diameter", "skin", "copied"), [(0.015, 42, 21), (0.022, 42, 28), (0.054, 42, 59)])
def test_the_columns_of_the_copied_table_that_are_wrong_lie_outside(diameter, skin, copied):
    """P10 [seen]: its 22 K column behaves like 29 to 33 K."""
    found = bare_metre(diameter, skin)
    assert copied > found.high


def test_a_bare_pipe_costs_heat_by_its_length():
    measured = {
        "bare length": Quantity.between(1.8, 2.2, "m"),
        "water": exact(60.0, "degC"),
        "expected skin": exact(27.0, "degC"),
    }
    context = given({"gas": exact(0.10, "USD/kWh")}, pipe_diameter=exact(0.022, "m"))
    (made,) = run_held(
        pipe_heat.STEP,
        (finding(check="plumbing.pipe_insulation", **measured),),
        pipe_heat.Settings(efficiency=1.0),
        context,
    ).estimates
    assert made.quantities["heat_flow"].low <= 2 * 37.4 <= made.quantities["heat_flow"].high
    assert made.quantities["yearly_energy"].value == pytest.approx(2 * 37.4 * 8.76, rel=0.02)
    assert yearly_cost(context, made).value == pytest.approx(0.1 * made.quantities["yearly_energy"].value, rel=1e-6)


def test_a_tank_stands_by_with_about_what_its_insulation_passes():
    """P14 [computed]: 189 L, 50 mm foam, 3.46 m2, 40 K: 89 W, 2.1 kWh a day; its skin then rises by 40 x 0.13 / 1.56
    K."""
    rise = 40.0 * 0.13 / (0.05 / 0.035 + 0.13)
    measured = {"skin rise": Quantity.between(0.9 * rise, 1.1 * rise, "K")}
    one = finding(check="plumbing.water_heater", verdict="normal", **measured)
    (made,) = run_held(pipe_heat.STEP, (one,), pipe_heat.Settings(), given(tank_area=exact(3.46, "m2"))).estimates
    assert made.quantities["heat_flow"].low <= 89.0 <= made.quantities["heat_flow"].high


@pytest.mark.parametrize(("soil", "hours"), [("moist sand", 25.0), ("moist clay", 62.0), ("dry clay", 250.0)])
def test_time_to_the_surface_of_the_table(soil, hours):
    """P9 [computed]: z2 / kappa for 0.3 m."""
    context = given(soil=soil, pipe_depth=exact(0.3, "m"))
    (made,) = run_held(ground_lag.STEP, (finding(),), None, context).estimates
    time = made.quantities["time_to_surface"]
    assert time.value == pytest.approx(hours, rel=0.02) and time.low < hours < time.high


def test_lag_and_damping_of_the_table():
    """P8: moist sand, 0.165 m and 2.31 h for each 0.1 m [computed]."""
    context = given(soil="moist sand", pipe_depth=exact(0.1, "m"))
    (made,) = run_held(ground_lag.STEP, (finding(),), None, context).estimates
    assert made.quantities["daily_damping_depth"].value == pytest.approx(0.165, abs=0.001)
    assert made.quantities["daily_lag"].value == pytest.approx(2.31, abs=0.01)
    assert made.quantities["share_after_one_hour"].value < made.quantities["share_after_one_day"].value


def test_ground_of_unknown_soil_has_no_lag():
    assert run_held(ground_lag.STEP, (finding(),), None, given(pipe_depth=exact(0.1, "m"))).estimates == ()
    floor = finding(check="plumbing.pipe")
    assert run_held(ground_lag.STEP, (floor,), None, given(pipe_depth=exact(0.05, "m"))).estimates != ()


def test_both_ways_of_evaporation_agree_where_the_balance_holds():
    """Domains dossier P5, K13: at 30 degC and 30 %, film 8 and radiation 5.5, a wet wall stands at 20.2 degC
    [computed]: the heat it draws from air and walls is the heat its vapour carries off."""
    surface, air = exact(20.2, "degC"), exact(30.0, "degC")
    carried = mass_flux(surface, air, exact(0.3, "1"), exact(8.0, "W/m2/K"), exact(1.0, "1"))
    drawn = flux_by_balance(exact(9.8, "K"), surface, exact(8.0, "W/m2/K"))
    assert drawn.value == pytest.approx(carried.value, rel=0.04)


def test_the_least_leak_is_the_smaller_of_both_ways():
    measured = {
        "area": exact(0.8, "m2"),
        "mean temperature": Quantity.between(26.0, 30.0, "degC", 28.0),
        "contrast": Quantity.between(-13.0, -11.0, "K", -12.0),
    }
    outside = Conditions(outside_air=exact(35.0, "degC"), outside_humidity=exact(0.25, "1"), wind=exact(1.5, "m/s"))
    (made,) = evaporation((finding(**measured),), EvaporationSettings(), Context(conditions=outside)).estimates
    first, second, least = (made.quantities[name] for name in ("evaporation", "evaporation_by_heat", "least_leak"))
    assert least.value == min(first.value, second.value) and least.low == min(first.low, second.low)
    assert 0.3 < first.value / second.value < 3.0
