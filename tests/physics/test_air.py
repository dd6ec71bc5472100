"""Moist air, the path through it, and the sky: against PsychroLib and CoolProp, and properties that must hold."""

from __future__ import annotations

import CoolProp.CoolProp as coolprop
import numpy as np
import psychrolib
import pytest
from heatbrief.physics import atmosphere, sky
from heatbrief.physics import psychrometrics as psy
from heatbrief.physics.planck import IdealBand
from hypothesis import given, settings
from hypothesis import strategies as st

psychrolib.SetUnitSystem(psychrolib.SI)
CELSIUS = st.floats(-15.0, 45.0)
HUMIDITY = st.floats(0.05, 0.99)
PRESSURE = st.floats(80000.0, 104000.0)


@given(CELSIUS, HUMIDITY, PRESSURE)
def test_against_psychrolib(t: float, rh: float, pressure: float) -> None:
    air = t + 273.15
    assert float(psy.saturation_pressure(air)) == pytest.approx(psychrolib.GetSatVapPres(t), rel=1e-9)
    assert float(psy.dew_point(air, rh)) - 273.15 == pytest.approx(psychrolib.GetTDewPointFromRelHum(t, rh), abs=0.002)
    assert float(psy.air_humidity_ratio(air, rh, pressure)) == pytest.approx(
        psychrolib.GetHumRatioFromRelHum(t, rh, pressure), rel=1e-9
    )
    wanted = psychrolib.GetTWetBulbFromRelHum(t, rh, pressure)
    # near 0 degC the balance jumps from water to ice and both solutions are admissible
    if abs(wanted) > 0.05:
        assert float(psy.wet_bulb(air, rh, pressure)) - 273.15 == pytest.approx(wanted, abs=0.003)


@settings(max_examples=30)
@given(st.floats(2.0, 45.0), st.floats(0.2, 0.95))
def test_against_coolprop(t: float, rh: float) -> None:
    air = t + 273.15
    dew = coolprop.HAPropsSI("D", "T", air, "P", 101325, "R", rh)
    assert float(psy.dew_point(air, rh)) == pytest.approx(dew, abs=0.03)
    wet = coolprop.HAPropsSI("B", "T", air, "P", 101325, "R", rh)
    if wet > 273.2:
        assert float(psy.wet_bulb(air, rh)) == pytest.approx(wet, abs=0.04)


@given(CELSIUS, HUMIDITY)
def test_order_of_temperatures(t: float, rh: float) -> None:
    air = t + 273.15
    dew, wet = float(psy.dew_point(air, rh)), float(psy.wet_bulb(air, rh))
    limit = float(psy.surface_limit_temperature(air, rh, 0.8))
    assert dew <= wet + 0.15 <= air + 0.3
    assert dew <= limit
    assert float(psy.surface_relative_humidity(limit, air, rh)) == pytest.approx(0.8, abs=0.002)


@given(st.floats(0.5, 40.0), st.floats(0.1, 0.99))
def test_stull_is_near_the_balance(t: float, rh: float) -> None:
    """Stull 2011 states -1 to +0.65 K over his domain, which leaves out cold dry air; +0.83 K found in this part."""
    if t < 10.0 and rh < 0.3:
        return
    difference = float(psy.wet_bulb_stull(t + 273.15, rh)) - float(psy.wet_bulb(t + 273.15, rh))
    assert abs(difference) < 1.0


@given(st.floats(-60.0, 120.0))
def test_saturation_slope_is_the_derivative(t: float) -> None:
    if abs(t) < 0.1:
        return
    kelvin = t + 273.15
    numeric = (psy.saturation_pressure(kelvin + 0.01) - psy.saturation_pressure(kelvin - 0.01)) / 0.02
    assert float(psy.saturation_slope(kelvin)) == pytest.approx(float(numeric), rel=1e-5)


@given(st.floats(-60.0, 120.0), st.sampled_from(["auto", "water", "ice"]))
def test_dew_point_inverts_saturation(t: float, over: str) -> None:
    kelvin = t + 273.15
    back = float(psy.dew_point_from_pressure(psy.saturation_pressure(kelvin, over), over))
    assert back == pytest.approx(kelvin, abs=0.002 if abs(t) < 0.1 else 1e-6)


def test_arrays_broadcast() -> None:
    air = np.array([[280.0], [300.0]])
    rh = np.array([0.3, 0.6, 0.9])
    wet = psy.wet_bulb(air, rh)
    assert wet.shape == (2, 3)
    assert float(wet[1, 2]) == pytest.approx(float(psy.wet_bulb(300.0, 0.9)), abs=1e-9)


@pytest.mark.parametrize("limit", [0.0, 1.1, -0.5])
def test_impossible_limit_is_refused(limit: float) -> None:
    with pytest.raises(ValueError, match="limit"):
        psy.surface_limit_temperature(293.15, 0.5, limit)


@given(st.floats(-10.0, 40.0), st.floats(0.1, 0.95), st.floats(0.0, 299.0), st.sampled_from(atmosphere.BANDS_UM))
def test_transmittance_falls(t: float, rh: float, d: float, band: tuple[float, float]) -> None:
    edges = {"low_um": band[0], "high_um": band[1]}
    here = float(atmosphere.transmittance(d, t + 273.15, rh, **edges))
    assert 0.0 < here <= 1.0
    assert float(atmosphere.transmittance(d + 1.0, t + 273.15, rh, **edges)) < here
    assert float(atmosphere.transmittance(d, t + 273.15, min(rh * 1.05, 1.0), **edges)) <= here
    assert float(atmosphere.transmittance(0.0, t + 273.15, rh, **edges)) == 1.0


def test_long_paths_are_flagged_and_held() -> None:
    found = atmosphere.path_transmittance([100.0, 300.0, 5000.0], 293.15, 0.5)
    assert found.clamped.tolist() == [False, False, True]
    assert found.value[2] == found.value[1]
    assert len(found.notes) == 1 and "300 m" in found.notes[0]
    assert atmosphere.path_transmittance(10.0, 293.15, 0.5).notes == ()
    assert len(atmosphere.path_transmittance(10.0, 253.15, 0.99, low_um=3.0, high_um=5.0).notes) == 3


@pytest.mark.parametrize(
    "wrong",
    [
        (-1.0, 293.15, 0.5),
        (np.nan, 293.15, 0.5),
        (1.0, 20.0, 0.5),
        (1.0, 293.15, -0.1),
        (1.0, 293.15, 1.01),
        (1.0, 293.15, np.nan),
    ],
)
def test_impossible_paths_are_refused(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError):
        atmosphere.transmittance(*wrong)


@given(st.floats(-10.0, 40.0), st.floats(0.1, 0.95), st.sampled_from(sorted(sky.MODELS)))
def test_clear_sky_is_colder_than_air(t: float, rh: float, model: str) -> None:
    air = t + 273.15
    eps = float(sky.sky_emissivity(air, psy.dew_point(air, rh), psy.vapour_pressure(air, rh), model))
    assert 0.4 < eps <= 1.0
    assert float(sky.sky_temperature(air, eps)) <= air
    assert eps <= float(sky.cloudy_emissivity(eps, 0.5)) <= float(sky.cloudy_emissivity(eps, 1.0)) <= 1.0


def test_imager_sees_a_colder_sky_than_the_heat_balance() -> None:
    """Common to LOWTRAN and Idso: a clear sky in 8-14 um is tens of kelvin colder than the broadband sky."""
    vapour = float(psy.vapour_pressure(293.15, 0.5))
    broad = sky.sky_temperature(293.15, sky.sky_emissivity(293.15, psy.dew_point(293.15, 0.5), vapour))
    band = sky.band_sky_temperature(IdealBand(8.0, 14.0), 293.15, vapour)
    assert float(band) < float(broad) - 25.0


def test_surroundings_and_globe() -> None:
    assert float(sky.surroundings_temperature(0.0, 270.0, 290.0)) == pytest.approx(270.0)
    assert float(sky.surroundings_temperature(180.0, 270.0, 290.0)) == pytest.approx(290.0)
    assert float(sky.globe_radiant_temperature(295.0, 295.0, 0.3)) == pytest.approx(295.0)
    assert np.isnan(sky.globe_radiant_temperature(280.0, 400.0, 30.0))


def test_wrong_sky_inputs_are_refused() -> None:
    with pytest.raises(KeyError, match="berdahl-martin"):
        sky.sky_emissivity(293.0, 283.0, 1200.0, "no such model")
    with pytest.raises(ValueError, match="view factors"):
        sky.mean_radiant_temperature([290.0, 300.0], [0.5, 0.6])
    with pytest.raises(ValueError, match="cloud"):
        sky.cloudy_emissivity(0.8, 8.0)
    with pytest.raises(ValueError, match="tilt"):
        sky.sky_view_factor(200.0)
