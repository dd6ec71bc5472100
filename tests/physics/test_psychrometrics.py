"""Moist air point by point against PsychroLib 2.5 (ASHRAE Handbook of Fundamentals 2017) and at the edges of the range."""

from __future__ import annotations

import math

import numpy as np
import psychrolib
import pytest
from heatbrief.physics import psychrometrics as psy

psychrolib.SetUnitSystem(psychrolib.SI)
ZERO = 273.15


@pytest.mark.parametrize("t", [-99.0, -60.0, -20.0, -0.5, 0.5, 20.0, 60.0, 120.0, 199.0])
def test_saturation(t: float) -> None:
    assert float(psy.saturation_pressure(t + ZERO)) == pytest.approx(psychrolib.GetSatVapPres(t), rel=1e-9)
    near = [math.log(psychrolib.GetSatVapPres(t + step)) for step in (-1e-3, 1e-3)]
    slope = (near[1] - near[0]) / 2e-3 * psychrolib.GetSatVapPres(t)
    assert float(psy.saturation_slope(t + ZERO)) == pytest.approx(slope, rel=1e-6)
    back = float(psy.dew_point_from_pressure(psychrolib.GetSatVapPres(t)))
    assert back == pytest.approx(t + ZERO, abs=1e-6)


@pytest.mark.parametrize("edge", [psy.LOWEST_K, psy.HIGHEST_K])
def test_the_range_ends_at_minus_100_and_200_degrees(edge: float) -> None:
    out = edge + (-0.01 if edge < 200 else 0.01)
    assert edge in (173.15, 473.15)
    for function in (psy.saturation_pressure, psy.saturation_slope):
        assert np.isfinite(function(edge)) and np.isnan(function(out))
    pressures = np.exp(np.log(float(psy.saturation_pressure(edge))) + np.array([-0.2, 0.2]))
    assert np.isnan(psy.dew_point_from_pressure(pressures)).tolist() == [edge < 200, edge > 200]


def test_over_ice_water_is_less_willing_to_leave() -> None:
    """At -20 degC: 103.2 Pa over ice, 125.4 Pa over water; at the triple point both 611.66 Pa (WMO-No. 8, from memory)."""
    ice, water, auto = (float(psy.saturation_pressure(253.15, over)) for over in ("ice", "water", "auto"))
    assert (ice, water) == pytest.approx((103.2, 125.5), abs=0.2) and auto == ice
    both = [float(psy.saturation_pressure(273.16, over)) for over in ("ice", "water")]
    assert both == pytest.approx([611.66, 611.66], abs=0.15) and float(psy.saturation_pressure(273.16)) == both[0]
    assert float(psy.dew_point(263.15, 0.8, "water")) < float(psy.dew_point(263.15, 0.8))
    above = [float(psy.saturation_pressure(293.15, over)) for over in ("water", "auto")]
    assert above[0] == above[1] != float(psy.saturation_pressure(293.15, "ice"))


@pytest.mark.parametrize(("t", "wet"), [(30.0, 20.0), (5.0, 0.5), (-5.0, -6.5), (5.0, -1.0), (20.0, 20.0), (1.0, 0.0)])
@pytest.mark.parametrize("pressure", [101325.0, 85000.0])
def test_humidity_ratio_from_the_wet_bulb(t: float, wet: float, pressure: float) -> None:
    expected = psychrolib.GetHumRatioFromTWetBulb(t, wet, pressure)
    assert float(psy.humidity_ratio_from_wet_bulb(t + ZERO, wet + ZERO, pressure)) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("t", "rh"), [(30.0, 0.5), (10.0, 0.2), (-8.0, 0.7), (45.0, 0.02), (20.0, 1.0), (60.0, 0.05)])
def test_wet_bulb_dew_point_and_enthalpy(t: float, rh: float) -> None:
    wet = psychrolib.GetTWetBulbFromRelHum(t, rh, 101325.0)
    assert float(psy.wet_bulb(t + ZERO, rh)) - ZERO == pytest.approx(wet, abs=0.002)
    assert float(psy.dew_point(t + ZERO, rh)) - ZERO == pytest.approx(
        psychrolib.GetTDewPointFromRelHum(t, rh), abs=0.002
    )
    ratio = float(psy.air_humidity_ratio(t + ZERO, rh))
    assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(t, rh, 101325.0), rel=1e-9)
    assert float(psy.enthalpy(t + ZERO, ratio)) == pytest.approx(psychrolib.GetMoistAirEnthalpy(t, ratio), rel=1e-9)


def test_arrays_broadcast_and_keep_their_shape() -> None:
    air, rh = np.array([[290.0], [300.0]]), np.array([0.3, 0.5, 0.9])
    assert psy.wet_bulb(air, rh).shape == psy.dew_point(air, rh).shape == (2, 3)
    assert np.all(np.diff(psy.wet_bulb(air, rh), axis=1) > 0) and np.all(np.diff(psy.wet_bulb(air, rh), axis=0) > 0)


@pytest.mark.parametrize("bad", [-0.001, 1.001, 50.0, [0.5, 1.5]])
def test_humidity_is_a_fraction(bad) -> None:
    with pytest.raises(ValueError, match="is a fraction"):
        psy.check_humidity(bad)


def test_the_ends_of_humidity_are_taken_and_dry_air_has_no_dew_point() -> None:
    assert psy.check_humidity([0.0, 1.0]).tolist() == [0.0, 1.0]
    assert np.isnan(psy.dew_point(293.15, 0.0)) and np.isnan(psy.dew_point_from_pressure([-1.0, 0.0])).all()
    assert float(psy.dew_point(293.15, 1.0)) == pytest.approx(293.15, abs=1e-6)


@pytest.mark.parametrize(("vapour", "ratio"), [(0.0, 0.0), (50662.5, 0.621945), (101325.0, np.nan), (2e5, np.nan)])
def test_vapour_cannot_have_all_of_the_pressure(vapour: float, ratio: float) -> None:
    assert float(psy.humidity_ratio(vapour)) == pytest.approx(ratio, nan_ok=True)


@pytest.mark.parametrize("metres", [-500.0, 0.0, 1500.0, 5000.0])
def test_pressure_at_altitude(metres: float) -> None:
    assert float(psy.pressure_at_altitude(metres)) == pytest.approx(psychrolib.GetStandardAtmPressure(metres), rel=1e-9)


def test_mass_of_vapour_in_a_room() -> None:
    """17.3 g/m3 saturate air of 20 degC (handbook tables, from memory)."""
    assert float(psy.absolute_humidity(293.15, 1.0)) == pytest.approx(0.0173, abs=5e-5)


@pytest.mark.parametrize("limit", [0.0, -0.1, 1.01])
def test_limits_of_surface_humidity(limit: float) -> None:
    with pytest.raises(ValueError, match="limit"):
        psy.surface_limit_temperature(293.15, 0.5, limit)
    assert float(psy.surface_limit_temperature(293.15, 0.5, 1.0)) == pytest.approx(float(psy.dew_point(293.15, 0.5)))
    usual = float(psy.surface_limit_temperature(293.15, 0.5))
    assert usual == float(psy.surface_limit_temperature(293.15, 0.5, 0.8))
    assert float(psy.surface_relative_humidity(usual, 293.15, 0.5)) == pytest.approx(0.8)


def test_stulls_own_example() -> None:
    """20 degC and 50 % give 13.7 degC (Stull 2011, abstract)."""
    assert float(psy.wet_bulb_stull(293.15, 0.5)) - ZERO == pytest.approx(13.7, abs=0.005)
