"""Planck integrals against quadrature, and properties that hold for every temperature and band."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import planck
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad

KELVIN = st.floats(150.0, 1500.0)
EDGES = st.tuples(st.floats(2.0, 20.0), st.floats(0.2, 10.0)).map(lambda pair: (pair[0], pair[0] + pair[1]))


def test_constants_are_codata() -> None:
    """scipy.constants carries CODATA; h, c and k are exact."""
    assert constants.h == planck.PLANCK_J_S and constants.c == planck.LIGHT_M_S and constants.k == planck.BOLTZMANN_J_K
    assert pytest.approx(constants.sigma, rel=1e-9) == planck.SIGMA_W_M2_K4
    assert pytest.approx(constants.physical_constants["second radiation constant"][0], rel=1e-9) == planck.C2_M_K
    assert pytest.approx(constants.physical_constants["first radiation constant"][0], rel=1e-9) == planck.C1_W_M2
    wien = constants.physical_constants["Wien wavelength displacement law constant"][0] * 1e6
    assert pytest.approx(wien, rel=1e-9) == planck.WIEN_UM_K


@given(KELVIN, EDGES)
def test_band_radiance_is_the_integral_of_spectral_radiance(t: float, band: tuple[float, float]) -> None:
    """Independent reference: adaptive quadrature of scipy."""
    wanted, _ = quad(lambda lam: float(planck.spectral_radiance(lam, t)), *band, epsabs=0, epsrel=1e-11, limit=200)
    assert float(planck.band_radiance(t, *band)) == pytest.approx(wanted, rel=1e-8, abs=1e-12)


@given(KELVIN, EDGES)
def test_slope_is_the_derivative(t: float, band: tuple[float, float]) -> None:
    step = 1e-3 * t
    wanted = (planck.band_radiance(t + step, *band) - planck.band_radiance(t - step, *band)) / (2 * step)
    assert float(planck.band_slope(t, *band)) == pytest.approx(float(wanted), rel=2e-3, abs=1e-12)


@given(st.floats(180.0, 1000.0), st.sampled_from([(8.0, 14.0), (7.5, 13.0), (7.5, 14.0), (3.0, 5.0)]))
def test_inverse_returns_the_temperature(t: float, band: tuple[float, float]) -> None:
    assert float(planck.band_temperature(planck.band_radiance(t, *band), *band)) == pytest.approx(t, abs=1e-7)


@given(st.floats(10.0, 2e6), st.floats(1.0001, 3.0))
def test_fraction_rises_from_zero_to_one(product: float, factor: float) -> None:
    low, high = planck.fraction_below([product, product * factor])
    assert 0.0 <= low <= high <= 1.0


def test_fraction_meets_where_its_two_series_meet() -> None:
    edge = planck.C2_UM_K
    below, above = planck.fraction_below([edge * (1 - 1e-9), edge * (1 + 1e-9)])
    assert above == pytest.approx(below, abs=1e-9)
    assert above > below


def test_no_temperature_for_no_radiance() -> None:
    found = planck.band_temperature([0.0, -1.0, np.nan], 8.0, 14.0)
    assert np.isnan(found).all()


def test_parts_of_a_band_add_up() -> None:
    t = np.linspace(250.0, 400.0, 7)
    whole = planck.band_radiance(t, 8.0, 14.0)
    parts = planck.band_radiance(t, 8.0, 11.0) + planck.band_radiance(t, 11.0, 14.0)
    np.testing.assert_allclose(parts, whole, rtol=1e-12)


def test_flat_tabulated_response_is_the_ideal_band() -> None:
    flat = planck.TabulatedBand(tuple(np.linspace(8.0, 14.0, 13)), (1.0,) * 13)
    ideal = planck.IdealBand(8.0, 14.0)
    t = np.array([253.15, 300.0, 573.15])
    np.testing.assert_allclose(flat.signal(t), ideal.signal(t), rtol=1e-10)
    np.testing.assert_allclose(flat.slope(t), ideal.slope(t), rtol=1e-10)
    np.testing.assert_allclose(flat.temperature(flat.signal(t)), t, atol=1e-7)


def test_triangular_response_against_quadrature() -> None:
    band = planck.TabulatedBand((8.0, 10.0, 14.0), (0.0, 1.0, 0.0))

    def shape(lam: float) -> float:
        return float(np.interp(lam, (8.0, 10.0, 14.0), (0.0, 1.0, 0.0)) * planck.spectral_radiance(lam, 310.0))

    wanted = quad(shape, 8.0, 10.0)[0] + quad(shape, 10.0, 14.0)[0]
    assert float(band.signal(310.0)) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize(
    ("lam", "response"),
    [
        ((8.0,), (1.0,)),
        ((8.0, 8.0), (1.0, 1.0)),
        ((9.0, 8.0), (1.0, 1.0)),
        ((8.0, 9.0), (0.0, 0.0)),
        ((8.0, 9.0), (-1.0, 1.0)),
        ((8.0, 9.0), (1.0,)),
    ],
)
def test_impossible_responses_are_refused(lam: tuple[float, ...], response: tuple[float, ...]) -> None:
    with pytest.raises(ValueError):
        planck.TabulatedBand(lam, response)


@pytest.mark.parametrize("edges", [(14.0, 8.0), (0.0, 8.0), (8.0, 8.0)])
def test_impossible_bands_are_refused(edges: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="band"):
        planck.IdealBand(*edges)


def test_the_detector_of_all_wavelengths_has_the_slope_of_its_signal() -> None:
    """4 sigma T^3 / pi is 1.94933 W m-2 sr-1 K-1 at 300 K with sigma 5.670374419e-8 (CODATA 2018) [computed]."""
    band = planck.TotalBand()
    assert float(band.slope(300.0)) == pytest.approx(1.94933, rel=1e-5)
    for t in (250.0, 300.0, 800.0):
        step = (band.signal(t + 0.01) - band.signal(t - 0.01)) / 0.02
        assert float(band.slope(t)) == pytest.approx(float(step), rel=1e-6)
        assert float(band.temperature(band.signal(t))) == pytest.approx(t)
