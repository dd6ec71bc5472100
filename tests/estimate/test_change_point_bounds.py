"""Bounds, weights and refusals of the fit of a balance temperature, against scipy and against its own definition."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.estimate.change_point import ChangePoint, fit_change_point
from scipy.optimize import brentq, lsq_linear
from scipy.stats import f

from .test_change_point import DAYS, MONTHS


def misfit(t, daily, days, balance, kind):
    """Weighted sum of squares of the best straight lines from a balance temperature, by scipy's linear solver."""
    sides = {"heating": [-1.0], "cooling": [1.0], "both": [-1.0, 1.0]}[kind]
    columns = np.column_stack([np.ones_like(t), *(np.maximum(side * (t - balance), 0.0) for side in sides)])
    weight = np.sqrt(days)
    return 2.0 * lsq_linear(columns * weight[:, None], daily * weight).cost


USES = {
    "heating": 9.0 + 2.0 * np.maximum(15.0 - MONTHS, 0.0),
    "cooling": 9.0 + 2.0 * np.maximum(MONTHS - 13.0, 0.0),
    "both": 9.0 + 2.0 * np.maximum(15.0 - MONTHS, 0.0) + 1.5 * np.maximum(MONTHS - 15.0, 0.0),
}


@pytest.mark.parametrize(("kind", "parameters"), [("heating", 3), ("cooling", 3), ("both", 4)])
def test_bounds_are_where_the_misfit_grows_by_the_95_percent_point_of_f(kind, parameters):
    """Profile of one parameter: SS = SSmin (1 + F(0.95; 1, n - p) / (n - p)); textbook regression, from memory."""
    daily = USES[kind] * (1.0 + 0.04 * np.array([1, -1, 0.5, -0.5, 1, -1, 0.3, -0.8, 0.6, -0.2, 0.9, -0.7]))
    found = fit_change_point(MONTHS, daily * DAYS, DAYS, kind)
    assert isinstance(found, ChangePoint)
    balance, free = found.balance.value, MONTHS.size - parameters
    best = misfit(MONTHS, daily, DAYS, balance, kind)
    limit = best * (1.0 + f.ppf(0.95, 1, free) / free)
    for end, far in ((found.balance.low, 5.5), (found.balance.high, 23.0)):
        edge = brentq(lambda at: misfit(MONTHS, daily, DAYS, at, kind) - limit, balance, far)
        assert end == pytest.approx(edge, abs=0.11) and abs(end - balance) <= abs(edge - balance) + 1e-6
    around = [misfit(MONTHS, daily, DAYS, balance + step, kind) for step in (-0.02, 0.02)]
    assert best <= min(around), "the balance is polished beyond the grid"
    assert found.balance.coverage == 0.95 and found.balance.unit == "degC"


def test_a_period_of_twice_the_days_counts_as_two():
    t, daily = MONTHS[:8], USES["heating"][:8] + np.array([1.0, -2.0, 1.5, 0.0, -1.0, 2.0, 0.5, -1.0])
    long = np.where(np.arange(8) % 3 == 0, 60.0, 30.0)
    twice = np.repeat(np.arange(8), (long / 30.0).astype(int))
    one, other = (
        fit_change_point(t, daily * long, long),
        fit_change_point(t[twice], daily[twice] * 30.0, np.full(twice.size, 30.0)),
    )
    assert (one.base, one.heating_slope, one.r_squared) == pytest.approx(
        (other.base, other.heating_slope, other.r_squared), rel=1e-3
    )
    assert one.balance.value == pytest.approx(other.balance.value, abs=0.01)


@pytest.mark.parametrize(("warm", "word"), [(12.9, "too alike"), (13.1, None)])
def test_all_but_one_period_on_each_side_must_span_three_kelvin(warm, word):
    t = np.array([-20.0, 10.0, 10.0, 10.5, 11.0, warm, 40.0])
    found = fit_change_point(t, (50.0 - t) * 30.0, np.full(7, 30.0))
    assert ("too alike" in str(found)) is (word is not None)


@pytest.mark.parametrize("kind", ["heating", "cooling", "both"])
def test_six_periods_are_enough_and_five_are_not(kind):
    t, days = np.array([-5.0, 0.0, 5.0, 18.0, 25.0, 30.0]), np.full(6, 30.0)
    use = (9.0 + np.abs(t - 15.0)) * 30.0
    assert "5 periods are too few" in str(fit_change_point(t[:5], use[:5], days[:5], kind))
    assert "too few" not in str(fit_change_point(t, use, days, kind))


@pytest.mark.parametrize(("slope", "word"), [(1e-9, "does not rise"), (1e-3, None), (-1.0, "does not rise")])
def test_the_use_must_rise_and_be_it_little(slope, word):
    daily = 500.0 + slope * np.maximum(15.0 - MONTHS, 0.0)
    found = fit_change_point(MONTHS, daily * DAYS, DAYS)
    assert ("does not rise" in str(found)) is (word is not None)


@pytest.mark.parametrize("kind", ["heating", "cooling", "both"])
def test_an_exact_use_gives_back_what_it_was_made_of(kind):
    found = fit_change_point(MONTHS, USES[kind] * DAYS, DAYS, kind)
    balance = 13.0 if kind == "cooling" else 15.0
    slopes = {"heating": (2.0, 0.0), "cooling": (0.0, 2.0), "both": (2.0, 1.5)}[kind]
    assert found.balance.value == pytest.approx(balance, abs=1e-4) and found.base == pytest.approx(9.0, abs=1e-3)
    assert (found.heating_slope, found.cooling_slope) == pytest.approx(slopes, abs=1e-3)
    assert found.balance.high - found.balance.low <= 0.1 and found.r_squared == pytest.approx(1.0, abs=1e-6)
