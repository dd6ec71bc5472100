"""Sakuma-Hattori fits: accurate where they say so, invertible, cached, and as precise as the array given."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import planck
from heatbrief.physics.planck import IdealBand
from heatbrief.physics.sakuma_hattori import (
    BandModel,
    analytic_coefficients,
    fit_band,
    fit_response,
    planck_form,
    planck_form_inverse,
)
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


@pytest.mark.parametrize(
    ("t", "a", "b", "signal"),
    [
        (20.0, 10.0, -100.0, 1.0 / np.expm1(143.877688)),
        (10.0, 10.0, -100.0, np.nan),
        (5.0, 10.0, -100.0, np.nan),
        (np.array([5.0, 20.0]), 10.0, -100.0, np.array([np.nan, 1.0 / np.expm1(143.877688)])),
    ],
)
def test_no_signal_where_the_form_has_no_meaning(t, a: float, b: float, signal) -> None:
    """At A T + B = 0 and below; c2 = 14387.7688 um K (CODATA 2018)."""
    np.testing.assert_allclose(planck_form(t, a, b, 1.0), signal, rtol=1e-5)


@pytest.mark.parametrize(("signal", "b"), [(-2.0, -1e5), (0.0, 0.0), (1.0, 1e5)])
def test_no_temperature_without_a_signal_or_below_absolute_zero(signal: float, b: float) -> None:
    assert np.isnan(planck_form_inverse(signal, 10.0, b, 1.0))


def test_a_model_says_where_it_was_fitted() -> None:
    plain, model = BandModel(10.0, 0.0, 1.0), fit_band(8.0, 14.0, 250.0, 400.0)
    assert (plain.low_k, plain.high_k) == (0.0, np.inf) and np.isnan([plain.max_error_k, plain.rms_error_k]).all()
    assert (model.low_k, model.high_k) == (250.0, 400.0)
    assert (fit_band(8.0, 14.0).low_k, fit_band(8.0, 14.0).high_k) == (233.15, 623.15), "-40 to 350 degC"


ODD = [
    ((8.1, 9.42, 10.14, 11.07, 15.52, 16.5, 16.89), (0.08, 0.32, 0.72, 0.04, 0.04, 0.04, 0.87)),
    ((3.18, 3.24, 4.15, 4.75, 7.51, 11.25, 12.06, 13.2), (0.33, 0.03, 0.01, 0.41, 0.11, 0.35, 0.69, 0.95)),
]
"""Responses of two peaks whose centre and width are far from the best fit."""


@pytest.mark.parametrize(("lam", "weight"), ODD)
def test_responses_of_two_peaks_are_fitted_by_slower_means(lam, weight) -> None:
    """Between 280 and 300 K scipy's least squares gets below a millikelvin from its own start."""
    model = fit_response(lam, weight, 280.0, 300.0)
    t = np.linspace(280.0, 300.0, 41)
    error = model.temperature(planck.TabulatedBand(lam, weight).signal(t)) - t
    assert model.rms_error_k < 1e-3 and np.abs(error).max() <= model.max_error_k * 1.01


def test_a_band_without_any_signal_is_refused() -> None:
    with pytest.raises(ValueError, match="no signal"):
        fit_band(0.1, 0.11, 20.0, 300.0)
