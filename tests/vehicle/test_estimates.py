"""Calculators against the dossier's arithmetic [computed: K14], with bounds that hold it."""

from __future__ import annotations

import pytest
from heatbrief.api import Context
from heatbrief.manifest.units import parse_price
from heatbrief.model import Finding, Quantity
from heatbrief_vehicle.calculators import drag_heat, fuel_for, mass_flow, radiator_heat, rise_of_a_stop, stop_energy
from heatbrief_vehicle.estimates import STEPS
from support import run_held

RADIATOR, BRAKE = STEPS


def exact(value, unit):
    return Quantity.exact(value, unit)


@pytest.mark.parametrize(("flow", "drop", "kilowatts"), [(0.5, 10.0, 18.0), (0.8, 6.0, 17.28)])
def test_heat_of_a_radiator(flow, drop, kilowatts):
    """0.5 kg/s, 3.6 kJ/kgK, 10 K: 18.0 kW; 0.8 kg/s, 6 K: 17.3 kW."""
    found = radiator_heat(exact(flow, "kg/s"), exact(drop, "K"))
    assert found.value == pytest.approx(1000 * kilowatts) and found.low < found.value < found.high


def test_a_stop_from_100_km_h():
    """1500 kg, 65 % front, 8 kg rotor: +49 K per front rotor; the stop is 578.7 kJ."""
    mass, speed = exact(1500, "kg"), exact(100 / 3.6, "m/s")
    assert stop_energy(mass, speed).value == pytest.approx(578704, rel=1e-5)
    rise = rise_of_a_stop(mass, speed, exact(8, "kg"))
    assert rise.value == pytest.approx(49, abs=0.5) and rise.low < 49 < rise.high


def test_fuel_is_power_over_efficiency():
    """300 W over 100 h is 108 MJ; at 27 % and 32 MJ/L that is 12.5 L."""
    fuel = fuel_for(exact(300, "W"), 100)
    assert fuel.value == pytest.approx(108 / 0.27 / 32, rel=1e-9) and fuel.low < fuel.value < fuel.high
    assert drag_heat(exact(0.1, "m2"), exact(50, "K")).value == pytest.approx(200)
    assert mass_flow(exact(30, "L/min")).value == pytest.approx(0.51)


def finding(check, shares, verdict="defect", **measured):
    named = {name.replace("_", " "): one for name, one in measured.items()}
    return Finding("f", "vehicle", check, "p", "r", "t", "s", verdict, "soon", 0.9, measured=named, shares=shares)


def brake(prices=None, **given):
    contrast = Quantity(45, "K", 43, 47)
    one = finding("vehicle.brakes", "axle:brake", contrast=contrast, **given)
    hours = given.pop("hours", None)
    return run_held(BRAKE, (one,), BRAKE.settings(hours=hours), Context(prices=prices or {}))


def test_fuel_and_cost_only_where_hours_area_and_price_are_given():
    area = {"rotor_area": exact(0.1, "m2")}
    assert brake().estimates == () and "no energy worked out" in brake().notes[0]
    (heat,) = brake(**area).estimates
    assert set(heat.quantities) == {"heat_flow"}
    one = finding("vehicle.brakes", "axle:brake", contrast=Quantity(45, "K", 43, 47), **area)
    (fuel,) = run_held(
        BRAKE, (one,), BRAKE.settings(hours=200.0), Context(prices={"petrol": parse_price("4.0 USD/gal")})
    ).estimates
    assert set(fuel.quantities) == {"heat_flow", "yearly_fuel", "yearly_cost"}
    assert fuel.quantities["yearly_cost"].value == pytest.approx(
        fuel.quantities["yearly_fuel"].value * 4.0 / 3.785411784
    )


def test_a_price_that_is_not_per_volume_gives_no_cost():
    one = finding("vehicle.brakes", "axle:brake", contrast=Quantity(45, "K", 43, 47), rotor_area=exact(0.1, "m2"))
    made = run_held(
        BRAKE, (one,), BRAKE.settings(hours=200.0), Context(prices={"petrol": exact(0.2, "USD/kWh")})
    ).estimates
    assert "yearly_cost" not in made[0].quantities and "yearly_fuel" in made[0].quantities


def test_stops_that_make_the_difference():
    (found,) = brake(
        vehicle_mass=exact(1500, "kg"), stop_speed=exact(100 / 3.6, "m/s"), rotor_mass=exact(8, "kg")
    ).estimates
    assert found.quantities["stops_that_make_the_difference"].value == pytest.approx(45 / 49, abs=0.02)


def test_radiator_heat_needs_the_flow():
    drop = {"drop_across_core": Quantity(10, "K", 9, 11)}
    one = finding("vehicle.cooling", "p:core:flow", "normal", **drop, coolant_flow=exact(30, "L/min"))
    (found,) = run_held(RADIATOR, (one,), RADIATOR.settings(), Context()).estimates
    assert found.quantities["heat_flow"].value == pytest.approx(0.51 * 3600 * 10)
    bare = run_held(
        RADIATOR, (finding("vehicle.cooling", "p:core:flow", "normal", **drop),), RADIATOR.settings(), Context()
    )
    assert bare.estimates == () and "coolant_flow" in bare.notes[0]
