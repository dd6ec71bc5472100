"""Wet surfaces: the wet-bulb floor, its failure under a cold sky, and an independent balance."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from heatbrief.physics import wet_surface as ws
from heatbrief.physics.psychrometrics import dew_point, wet_bulb
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


def test_reading_below_the_floor_is_not_evaporation_alone() -> None:
    wb, dp = wet_bulb(293.15, 0.5), dew_point(293.15, 0.5)
    reading = ws.read_cold_spot(np.array([292.0, wb - 0.3, wb - 1.0, dp - 1.0]), wb, dp, 0.5)
    assert reading.below_floor.tolist() == [False, False, True, True]
    assert reading.condensation_possible.tolist() == [False, False, False, True]
    assert not reading.cue_too_small.any() and ws.read_cold_spot(292.0, wb, dp, 0.85).cue_too_small
    assert not ws.read_cold_spot(wb - 1.0, wb, dp, 0.5, error=2.0).below_floor
    assert not ws.read_cold_spot(wb - 0.4, wb, dp, 0.5, error=0.1).below_floor
