"""Wet surfaces: the wet-bulb floor, its failure under a cold sky, and an independent balance."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from heatbrief.physics import wet_surface as ws
from heatbrief.physics.psychrometrics import wet_bulb
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

psychrolib.SetUnitSystem(psychrolib.SI)
air, humidity, film = st.floats(283.15, 313.15), st.floats(0.1, 0.98), st.floats(1.0, 200.0)


@given(t=air, rh=humidity, h=film)
def test_shaded_wet_surface_lies_between_wet_bulb_and_air(t: float, rh: float, h: float) -> None:
    surface = ws.equilibrium_temperature(t, rh, h)
    assert wet_bulb(t, rh) - 0.03 <= surface <= t + 1e-6
    assert ws.equilibrium_temperature(t, rh, h * 10) <= surface + 1e-6


@pytest.mark.parametrize(
    ("t", "rh", "h", "around"), [(20.0, 0.5, 5.0, 5.0), (32.0, 0.3, 12.0, 40.0), (25.0, 0.8, 3.5, 25.0)]
)
def test_against_a_balance_written_with_psychrolib(t: float, rh: float, h: float, around: float) -> None:
    w_air = psychrolib.GetHumRatioFromRelHum(t, rh, 101325)

    def balance(s: float) -> float:
        radiation = 0.96 * 5.670374419e-8 * ((around + 273.15) ** 4 - (s + 273.15) ** 4)
        vapour = h / (1006 + 1860 * w_air) * (psychrolib.GetSatHumRatio(s, 101325) - w_air)
        return h * (t - s) + radiation - vapour * (2501e3 - 2361 * s)

    expected = brentq(balance, -5.0, 60.0)
    found = ws.equilibrium_temperature(t + 273.15, rh, h, around + 273.15)
    assert found - 273.15 == pytest.approx(expected, abs=0.01)


def test_cold_sky_breaks_the_floor() -> None:
    """Dossier trap T13, computed: 20 degC, 50 %, sky -10 degC gives 9.7 degC against a wet bulb of 13.8."""
    wet = ws.equilibrium_temperature(293.15, 0.5, 10.0, 263.15)
    assert wet < wet_bulb(293.15, 0.5) - 3.0


@given(t=air, rh=humidity, h=film, sun=st.floats(0.0, 600.0))
def test_dry_surface_is_warmer_and_sun_warms(t: float, rh: float, h: float, sun: float) -> None:
    wet = ws.equilibrium_temperature(t, rh, h, absorbed=sun)
    assert ws.equilibrium_temperature(t, rh, h, absorbed=sun, wetness=0.0) >= wet - 1e-6
    assert ws.equilibrium_temperature(t, rh, h, absorbed=sun + 50.0) > wet
    assert ws.equilibrium_temperature(t, rh, h, wetness=0.0) == pytest.approx(t, abs=1e-3)


def test_arrays_keep_their_shape() -> None:
    grid = ws.equilibrium_temperature(np.array([[290.0], [300.0]]), np.array([0.3, 0.5, 0.7]), 8.0)
    assert grid.shape == (2, 3) and np.all(np.diff(grid, axis=1) > 0)


@pytest.mark.parametrize(("wetness", "sun", "expected"), [(0.0, 0.0, 293.15), (0.0, 100.0, 293.15 + 100.0 / 13.0)])
def test_a_dry_surface_has_the_airs_temperature_and_what_the_sun_adds(
    wetness: float, sun: float, expected: float
) -> None:
    """hc (T - Ta) + hr (T - Ta) = sun: 100 W/m2 over 8 + 5 W/m2K."""
    found = ws.equilibrium_temperature(293.15, 0.5, 8.0, absorbed=sun, wetness=wetness, h_radiation=5.0)
    assert float(found) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("around", [283.15, 293.15, 303.15])
def test_a_fixed_radiative_coefficient_draws_a_dry_surface_between_air_and_surroundings(around: float) -> None:
    """The mean of the two, weighted 8 to 5."""
    found = ws.equilibrium_temperature(293.15, 0.5, 8.0, around, wetness=0.0, h_radiation=5.0)
    assert float(found) == pytest.approx((8.0 * 293.15 + 5.0 * around) / 13.0, abs=1e-6)


def test_half_a_wet_surface_loses_half_as_much() -> None:
    """At the balance hc (Ta - T) is the loss; without radiation it is written with psychrolib, Lewis number 1 and 0.865."""
    w_air = psychrolib.GetHumRatioFromRelHum(25.0, 0.4, 101325)
    for lewis, factor in ((1.0, 1.0), (0.865, 0.865 ** (-2.0 / 3.0))):
        found = float(ws.equilibrium_temperature(298.15, 0.4, 8.0, lewis=lewis, wetness=0.5, h_radiation=0.0)) - 273.15
        vapour = 0.5 * factor * 8.0 / (1006 + 1860 * w_air) * (psychrolib.GetSatHumRatio(found, 101325) - w_air)
        assert 8.0 * (25.0 - found) == pytest.approx(vapour * (2501e3 - 2361 * found), rel=4e-3)


def test_thin_air_takes_up_more() -> None:
    """Humidity ratio is 0.62198 p / (P - p): at 80 kPa of air pressure the same surface gets colder."""
    low, usual = (float(ws.equilibrium_temperature(298.15, 0.4, 8.0, pressure=p)) for p in (80000.0, 101325.0))
    assert 0.3 < usual - low < 2.0
    assert usual == float(ws.equilibrium_temperature(298.15, 0.4, 8.0)), "sea level unless said"
    assert float(ws.equilibrium_temperature(298.15, 0.4, 8.0, 298.15, 0.96, 1.0)) == usual
