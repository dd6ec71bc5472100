"""Water: laws of the orifice, evaporation signs, and pipes against ht with CoolProp air."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from heatbrief.physics import water
from heatbrief.physics.psychrometrics import vapour_pressure, wet_bulb
from hypothesis import given
from hypothesis import strategies as st


@given(d=st.floats(1e-4, 0.05), p=st.floats(1e4, 1e6))
def test_leak_laws(d: float, p: float) -> None:
    flow = water.leak_flow(d, p)
    assert water.leak_flow(2 * d, p) == pytest.approx(4 * flow)
    assert water.leak_flow(d, p * 80 / 60) == pytest.approx(1.1547 * flow, rel=1e-4)
    assert water.implied_discharge(flow, d, p) == pytest.approx(0.61)


def test_density_against_coolprop() -> None:
    assert pytest.approx(PropsSI("D", "T", 288.15, "P", 101325, "Water"), abs=0.01) == water.WATER_DENSITY
    assert pytest.approx(PropsSI("C", "T", 293.15, "P", 101325, "Water"), rel=2e-3) == water.WATER_HEAT_CAPACITY


@pytest.mark.parametrize("t", [273.2, 293.15, 323.15, 353.15])
def test_latent_heat_against_coolprop(t: float) -> None:
    steam, liquid = (PropsSI("H", "T", t, "Q", q, "Water") for q in (1, 0))
    assert water.latent_heat(t) == pytest.approx(steam - liquid, rel=3e-3)


@pytest.mark.parametrize(("diameter", "dt"), [(0.015, 22.0), (0.022, 55.0), (0.054, 38.0), (0.022, -8.0)])
def test_bare_pipe_against_ht(diameter: float, dt: float) -> None:
    film = 293.15 + dt / 2

    def air(what: str) -> float:
        return PropsSI(what, "T", film, "P", 101325, "Air")

    grashof = 9.80665 * abs(dt) * diameter**3 / film / (air("V") / air("D")) ** 2
    expected = ht.Nu_horizontal_cylinder_Churchill_Chu(air("PRANDTL"), grashof) * air("L") / diameter
    assert water.pipe_convection(293.15 + dt, 293.15, diameter) == pytest.approx(expected, rel=0.005)
    assert np.sign(water.bare_pipe_loss(293.15 + dt, 293.15, diameter)) == np.sign(dt)


def test_pipe_loss_grows_faster_than_the_difference() -> None:
    """A widely copied table has an exponent of 0.83 (seen), which no bare pipe can have."""
    low, high = (water.bare_pipe_loss(293.15 + dt, 293.15, 0.022) for dt in (22.0, 55.0))
    exponent = np.log(high / low) / np.log(55 / 22)
    assert 1.15 < exponent < 1.25


@given(thickness=st.floats(0.005, 0.1), k=st.floats(0.02, 0.06), dt=st.floats(1.0, 70.0))
def test_insulation_lowers_loss_and_skin_stays_between(thickness: float, k: float, dt: float) -> None:
    air = 293.15
    skin = water.insulated_pipe_skin(air + dt, air, 0.028, thickness, k)
    assert air < skin < air + dt
    thicker = water.insulated_pipe_loss(air + dt, air, 0.028, thickness + 0.01, k)
    assert thicker < water.insulated_pipe_loss(air + dt, air, 0.028, thickness, k)


@given(t=st.floats(283.15, 308.15), rh=st.floats(0.1, 0.9), v=st.floats(0.0, 3.0))
def test_evaporation_turns_to_condensation_below_the_dew_point(t: float, rh: float, v: float) -> None:
    air = vapour_pressure(t, rh)
    assert water.evaporation_carrier(air * 1.1, air, v, t) > 0 > water.evaporation_carrier(air * 0.9, air, v, t)
    assert water.evaporation_lewis(5.0, 0.02, 0.01) > 0 > water.evaporation_lewis(5.0, 0.01, 0.02)
    assert water.seep_from_wet_area(1.0, -1e-5) == 0.0


def test_quiet_pool_share_is_the_measured_one() -> None:
    """Smith, Loef and Jones (abstract seen): 74 % of Carrier over undisturbed water."""
    busy = water.evaporation_carrier(3567.3, 2405.0, 0.0, 300.15)
    assert water.evaporation_carrier(3567.3, 2405.0, 0.0, 300.15, water.QUIET_POOL) == pytest.approx(0.74 * busy)


@given(rh=st.floats(0.1, 0.9), wind=st.floats(0.0, 5.0), sun=st.floats(0.0, 300.0))
def test_penman_grows_with_wind_sun_and_dryness(rh: float, wind: float, sun: float) -> None:
    base = water.evaporation_penman(298.15, rh, wind, sun)
    assert water.evaporation_penman(298.15, rh, wind + 1, sun) > base
    assert water.evaporation_penman(298.15, rh, wind, sun + 50) > base
    assert water.evaporation_penman(298.15, rh - 0.05, wind, sun) > base


def test_water_does_not_freeze_in_mild_air() -> None:
    assert water.freeze_times(0.015, 283.15, 274.15, 10.0) == (np.inf, np.inf)
    cool, freeze = water.freeze_times(0.015, 283.15, np.array([266.15, 256.15]), 10.0)
    assert cool[1] < cool[0] < freeze[0] and freeze[1] < freeze[0]


def test_radiator_and_floor_at_their_reference() -> None:
    assert water.radiator_output_ratio(50.0) == pytest.approx(1.0)
    assert water.floor_output(-3.0) == 0.0


def test_pint_a_minute_is_180_gallons_a_day_not_360() -> None:
    """A published 360 gal/day for 1 pint/min (seen) is twice the arithmetic."""
    pint, gallon = 3.785411784e-3 / 8, 3.785411784e-3
    assert water.drip_flow(1 / 60, pint) * 86400 / gallon == pytest.approx(180.0)


def test_wet_bulb_used_here_is_psychrolibs() -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert wet_bulb(293.15, 0.5) - 273.15 == pytest.approx(psychrolib.GetTWetBulbFromRelHum(20, 0.5, 101325), abs=0.02)
