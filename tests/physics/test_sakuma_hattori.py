"""Sakuma-Hattori fits: accurate where they say so, invertible, cached, and as precise as the array given."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import planck
from heatbrief.physics.planck import IdealBand
from heatbrief.physics.sakuma_hattori import BandModel, analytic_coefficients, fit_band, fit_response
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

KELVIN = st.floats(200.0, 900.0)


@given(KELVIN)
def test_inverse_and_slope(t: float) -> None:
    model = fit_band(7.5, 14.0)
    assert float(model.temperature(model.signal(t))) == pytest.approx(t, abs=1e-8)
    step = 0.01
    numeric = (model.signal(t + step) - model.signal(t - step)) / (2 * step)
    assert float(model.slope(t)) == pytest.approx(float(numeric), rel=1e-6)


@pytest.mark.parametrize("band", [(7.5, 14.0), (8.0, 14.0), (7.5, 13.0), (8.0, 12.0)])
def test_stated_error_bounds_the_exact_band(band: tuple[float, float]) -> None:
    model = fit_band(*band, 253.15, 423.15)
    t = np.linspace(model.low_k, model.high_k, 777)
    error = np.abs(model.temperature(planck.band_radiance(t, *band)) - t)
    assert error.max() <= model.max_error_k * 1.02
    assert 0.0 < model.rms_error_k < model.max_error_k < 0.02


def test_fits_are_cached() -> None:
    assert fit_band(8.0, 14.0) is fit_band(8.0, 14.0)


def test_flat_response_fits_like_the_ideal_band() -> None:
    ideal = fit_band(8.0, 14.0)
    flat = fit_response((8.0, 10.0, 12.0, 14.0), (1.0,) * 4)
    assert (flat.a, flat.b, flat.c) == pytest.approx((ideal.a, ideal.b, ideal.c), rel=1e-4)


def test_uneven_response_fits_within_its_error() -> None:
    lam, weight = (7.0, 8.0, 9.5, 12.0, 14.5), (0.0, 0.7, 1.0, 0.8, 0.0)
    model = fit_response(lam, weight)
    t = np.linspace(model.low_k, model.high_k, 91)
    error = np.abs(model.temperature(planck.TabulatedBand(lam, weight).signal(t)) - t)
    assert error.max() <= model.max_error_k * 1.05 < 0.1


def test_one_point_calibration_is_not_enough() -> None:
    """Analytic A and B with C pinned at 23 degC, 8-14 um: errors computed with scipy 1.17.1 least squares."""
    a, b = analytic_coefficients(8.0, 14.0)
    at = 296.15
    c = float(planck.band_radiance(at, 8.0, 14.0) * np.expm1(planck.C2_UM_K / (a * at + b)))
    t = np.array([-20.0, 0.0, 50.0, 100.0, 200.0, 300.0]) + 273.15
    error = BandModel(a, b, c).temperature(planck.band_radiance(t, 8.0, 14.0)) - t
    np.testing.assert_allclose(error, [-0.084, -0.047, 0.064, 0.212, 0.603, 1.068], atol=0.001)


def test_single_precision_stays_single_and_close() -> None:
    model = fit_band(7.5, 14.0)
    picture = np.linspace(250.0, 400.0, 1000, dtype=np.float32)
    back = model.temperature(model.signal(picture))
    assert back.dtype == np.float32
    assert np.abs(back - picture).max() < 1e-3


def test_no_signal_no_temperature() -> None:
    found = fit_band(8.0, 14.0).temperature(np.array([1.0, 0.0, -5.0, np.nan]))
    assert np.isfinite(found).tolist() == [True, False, False, False]


@pytest.mark.parametrize("limits", [(300.0, 250.0), (0.0, 300.0), (300.0, np.inf)])
def test_impossible_ranges_are_refused(limits: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="fit"):
        fit_band(8.0, 14.0, *limits)


@pytest.mark.parametrize("band", [(8.0, 14.0), (7.5, 13.0), (3.0, 5.0), (2.0, 5.7)])
@pytest.mark.parametrize("limits", [(233.15, 623.15), (280.0, 300.0), (150.0, 3000.0)])
def test_no_worse_than_a_general_least_squares_optimiser(
    band: tuple[float, float], limits: tuple[float, float]
) -> None:
    """scipy.optimize.least_squares (MINPACK, Levenberg-Marquardt) as the reference."""
    model = fit_band(*band, *limits)
    t = np.linspace(*limits, 200)
    signal = IdealBand(*band).signal(t)
    start = np.array([model.a * 1.01, model.b + 1.0, model.c * 0.99])

    def residual(unit: np.ndarray) -> np.ndarray:
        return BandModel(*(unit * start)).temperature(signal) - t

    found = least_squares(residual, np.ones(3), method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    best = float(np.sqrt(np.mean(found.fun**2)))
    assert model.rms_error_k <= best * (1.0 + 1e-6)


@pytest.mark.parametrize("limits", [(233.15, 320.0), (250.0, 380.0), (270.0, 300.0), (150.0, 340.0)])
def test_a_box_given_by_four_points_is_the_ideal_band(limits: tuple[float, float]) -> None:
    """Few and uneven points do not lead the fit astray."""
    box = fit_response((7.499, 7.5, 14.0, 14.001), (0.0, 1.0, 1.0, 0.0), *limits)
    assert box.rms_error_k == pytest.approx(fit_band(7.5, 14.0, *limits).rms_error_k, rel=0.01, abs=1e-6)
