"""Fits of the balance temperature: known truth, scipy's general fit as the reference, and what cannot be fitted."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.estimate.change_point import LEAST_PERIODS, ChangePoint, fit_change_point
from heatbrief.model.costs import MONTH_DAYS
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit

MONTHS = np.array([0.3, 5.0, 11.4, 14.7, 19.0, 23.6, 25.4, 24.8, 20.1, 13.1, 10.8, 4.2])
"""Monthly means of the Greensboro weather file [degC] (envelope dossier, section 11)."""
DAYS = np.array(MONTH_DAYS)


def model(t, base, slope, balance):
    return base + slope * np.maximum(balance - t, 0.0)


@settings(max_examples=30, deadline=None)
@given(base=st.floats(1.0, 30.0), slope=st.floats(0.5, 6.0), balance=st.floats(9.0, 19.0))
def test_three_parameters_are_recovered(base, slope, balance):
    found = fit_change_point(MONTHS, model(MONTHS, base, slope, balance) * DAYS, DAYS)
    assert isinstance(found, ChangePoint)
    assert (found.base, found.heating_slope, found.balance.value) == pytest.approx(
        (base, slope, balance), rel=2e-3, abs=2e-3
    )
    assert found.r_squared > 0.9999 and found.balance.low <= found.balance.value <= found.balance.high


def test_noise_widens_the_bounds_which_hold_the_truth_and_the_reference():
    """scipy.optimize.curve_fit on the same weights is the reference for the best fit."""
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(40):
        use = model(MONTHS, 10.0, 2.5, 15.5) * rng.normal(1.0, 0.06, 12)
        found = fit_change_point(MONTHS, use * DAYS, DAYS)
        assert isinstance(found, ChangePoint)
        best, _ = curve_fit(
            model, MONTHS, use, p0=(found.base, found.heating_slope, found.balance.value), sigma=1 / np.sqrt(DAYS)
        )
        misfits = [
            float(np.sum(DAYS * (use - model(MONTHS, *p)) ** 2))
            for p in (best, (found.base, found.heating_slope, found.balance.value))
        ]
        assert misfits[1] <= misfits[0] * (1 + 1e-6), "never worse than the reference"
        held += found.balance.low <= 15.5 <= found.balance.high
    assert held >= 35


def test_cooling_and_four_parameters():
    use = 12.0 + 1.5 * np.maximum(MONTHS - 18.0, 0.0)
    cooling = fit_change_point(MONTHS, use * DAYS, DAYS, "cooling")
    assert (
        isinstance(cooling, ChangePoint)
        and cooling.cooling_slope == pytest.approx(1.5, rel=5e-3)
        and cooling.heating_slope == 0.0
    )
    both = fit_change_point(
        MONTHS, (12.0 + 2.0 * np.maximum(16.0 - MONTHS, 0) + 0.7 * np.maximum(MONTHS - 16.0, 0)) * DAYS, DAYS, "both"
    )
    assert isinstance(both, ChangePoint)
    assert (both.heating_slope, both.cooling_slope, both.balance.value) == pytest.approx((2.0, 0.7, 16.0), rel=5e-3)


@pytest.mark.parametrize(
    ("t", "use", "word"),
    [
        (MONTHS[:4], np.ones(4), "too few"),
        (np.full(12, 10.0), np.ones(12), "too alike"),
        (MONTHS, (5.0 + MONTHS) * DAYS, "does not rise"),
        (MONTHS, np.full(12, 9.0) * DAYS, "does not rise"),
        (MONTHS, np.tile([30.0, 9.0], 6) * DAYS, "hardly follows"),
    ],
)
def test_what_has_no_balance_temperature_says_why(t, use, word):
    found = fit_change_point(t, use, DAYS[: len(t)])
    assert isinstance(found, str) and word in found


def test_the_share_explained_is_the_squared_correlation_of_fit_and_use():
    """For least squares with a constant r2 is the squared (weighted) correlation of fitted and observed values."""
    random = np.random.default_rng(8)
    daily = 9.0 + 2.0 * np.maximum(15.0 - MONTHS, 0.0) + random.normal(0, 2.0, 12)
    found = fit_change_point(MONTHS, daily * DAYS, DAYS)
    fitted = found.base + found.heating_slope * np.maximum(found.balance.value - MONTHS, 0.0)
    moments = np.cov(np.stack([fitted, daily]), aweights=DAYS)
    assert 0.5 < found.r_squared < 0.999
    assert found.r_squared == pytest.approx(moments[0, 1] ** 2 / (moments[0, 0] * moments[1, 1]), rel=1e-6)


def test_the_fewest_periods_are_two_more_than_there_are_parameters():
    cold, use = np.array([-5.0, 0.0, 5.0, 10.0, 20.0, 22.0]), np.array([50.0, 40.0, 30.0, 20.0, 9.0, 9.0])
    days = np.full(6, 30.0)
    for count, kind, word in ((LEAST_PERIODS - 1, "heating", "too few"), (5, "both", "too few")):
        assert word in fit_change_point(cold[:count], use[:count] * 30, days[:count], kind)
    for count, kind in ((max(LEAST_PERIODS, 5), "heating"), (6, "both")):
        assert "few" not in str(fit_change_point(cold[6 - count :], use[6 - count :] * 30, days[:count], kind))
