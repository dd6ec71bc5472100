"""Surface coefficients against ht with CoolProp air, and properties every correlation must have."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from heatbrief.physics import air_properties as air
from heatbrief.physics import surface_coefficients as sc
from hypothesis import given
from hypothesis import strategies as st

ROOM = 293.15
temperature = st.floats(263.15, 323.15)
difference = st.floats(0.05, 30.0)


@pytest.mark.parametrize("t", [253.15, 273.15, 293.15, 313.15, 353.15])
def test_air_properties_against_coolprop(t: float) -> None:
    def coolprop(what: str) -> float:
        return PropsSI(what, "T", t, "P", 101325, "Air")

    assert air.density(t) == pytest.approx(coolprop("D"), rel=1e-3)
    assert air.viscosity(t) == pytest.approx(coolprop("V"), rel=4e-3)
    assert air.conductivity(t) == pytest.approx(coolprop("L"), rel=3e-3)
    assert air.prandtl(t) == pytest.approx(coolprop("PRANDTL"), rel=8e-3)
    assert air.volumetric_heat_capacity(t) == pytest.approx(coolprop("D") * coolprop("C"), rel=4e-3)


@pytest.mark.parametrize("dt", [-20.0, -3.0, 0.7, 8.0])
@pytest.mark.parametrize("height", [0.5, 2.4, 6.0])
def test_vertical_plate_against_ht(dt: float, height: float) -> None:
    film = ROOM + dt / 2
    pr, k = PropsSI("PRANDTL", "T", film, "P", 101325, "Air"), PropsSI("L", "T", film, "P", 101325, "Air")
    nu = PropsSI("V", "T", film, "P", 101325, "Air") / PropsSI("D", "T", film, "P", 101325, "Air")
    grashof = 9.80665 * abs(dt) * height**3 / film / nu**2
    expected = ht.Nu_vertical_plate_Churchill(pr, grashof) * k / height
    assert sc.churchill_chu_vertical(ROOM + dt, ROOM, height) == pytest.approx(expected, rel=0.004)


@given(t=temperature, dt=difference, cos_tilt=st.floats(-1.0, 1.0))
def test_natural_convection_depends_on_tilt_and_sign_together(t: float, dt: float, cos_tilt: float) -> None:
    warm_up, cold_down = sc.tarp_tilted(t + dt, t, cos_tilt), sc.tarp_tilted(t - dt, t, -cos_tilt)
    assert warm_up == pytest.approx(cold_down, rel=1e-9)
    if abs(cos_tilt) > 0.01:
        assisted, suppressed = sc.tarp_tilted(t + dt, t, abs(cos_tilt)), sc.tarp_tilted(t + dt, t, -abs(cos_tilt))
        assert assisted > suppressed


@given(dt=difference, more=st.floats(0.1, 10.0), facing=st.sampled_from(["sideways", "up", "down"]))
def test_spread_brackets_and_grows(dt: float, more: float, facing: str) -> None:
    one = sc.convection_spread(ROOM - dt, ROOM, facing, 3.0, 4.0)
    two = sc.convection_spread(ROOM - dt - more, ROOM, facing, 3.0, 4.0)
    assert 0.0 < one.low <= one.best <= one.high
    assert two.high >= one.high * (1 - 1e-12) and two.low >= one.low * (1 - 1e-12)


def test_spread_covers_every_published_correlation_of_the_wall_and_ceiling() -> None:
    """EX-1.6 and EX-1.7 of the dossier: ht and EnergyPlus forms at 5 K."""
    wall = sc.convection_spread(ROOM - 5, ROOM, "sideways", 2.44)
    assert wall.low <= 2.221 * 1.001 and wall.high >= 2.458 * 0.99
    warm_ceiling = sc.convection_spread(ROOM + 5, ROOM, "down", 4.0, 5.0)
    assert warm_ceiling.high / warm_ceiling.low > 2.5
    cold_ceiling = sc.convection_spread(ROOM - 5, ROOM, "down", 4.0, 5.0)
    assert cold_ceiling.low > warm_ceiling.high


def test_spread_takes_pictures_and_refuses_unknown_directions() -> None:
    picture = np.array([[285.0, 290.0], [293.15, 300.0]])
    spread = sc.convection_spread(picture, ROOM, "sideways")
    assert spread.best.shape == picture.shape and np.all(np.isfinite(spread.best))
    with pytest.raises(ValueError, match="sideways"):
        sc.convection_spread(picture, ROOM, "north")


@given(t1=temperature, t2=temperature, eps=st.floats(0.05, 1.0))
def test_exact_radiative_coefficient_gives_the_t4_exchange(t1: float, t2: float, eps: float) -> None:
    h = sc.radiative_coefficient_exact(t1, t2, eps)
    assert h * (t1 - t2) == pytest.approx(eps * 5.670374419e-8 * (t1**4 - t2**4), rel=1e-9, abs=1e-6)
    assert h >= sc.radiative_coefficient(0.5 * (t1 + t2), eps) * (1 - 1e-12)


@given(v=st.floats(0.0, 10.0), more=st.floats(0.1, 5.0))
def test_more_wind_more_convection(v: float, more: float) -> None:
    for model in (
        sc.iso_outside_convection,
        sc.juerges,
        sc.mcadams_wind,
        lambda w: sc.tarp_forced(w, 10.0, 6.0),
        lambda w: sc.mowitt(280.0, 275.0, w, windward=False),
        lambda w: sc.doe2(280.0, 275.0, w),
        lambda w: sc.simple_combined(w, "brick"),
        lambda w: sc.outside_convection_spread(280.0, 275.0, w).high,
    ):
        assert model(v + more) > model(v)


def test_outside_span_is_wide_in_the_wind() -> None:
    span = sc.outside_convection_spread(276.0, 275.0, 3.0)
    assert span.low < span.best < span.high and span.high / span.low > 1.5


@given(cos_tilt=st.floats(-1.0, 1.0))
def test_longwave_shares_sum_to_one(cos_tilt: float) -> None:
    shares = sc.longwave_shares(cos_tilt)
    assert sum(shares) == pytest.approx(1.0) and min(shares) >= 0.0


def test_longwave_shares_of_a_wall() -> None:
    """EnergyPlus Engineering Reference (seen): half ground, sky half of sqrt(1/2), rest to the air."""
    assert sc.longwave_shares(0.0) == pytest.approx((0.35355, 0.14645, 0.5), abs=1e-5)


def test_wind_falls_towards_the_ground_and_in_towns() -> None:
    heights = sc.wind_at_height(5.0, np.array([2.0, 5.0, 10.0]), "open")
    assert np.all(np.diff(heights) > 0) and heights[-1] == pytest.approx(5.0)
    assert sc.wind_at_height(5.0, 10.0, "towns") < 5.0
