"""Robust statistics on awkward data: equal values, missing values, masked outliers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from heatbrief.physics import robust
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

DATA = arrays(float, st.integers(3, 40), elements=st.floats(-1e3, 1e3))


def test_constant_is_the_normal_quantile() -> None:
    assert pytest.approx(1.0 / stats.norm.ppf(0.75), rel=1e-12) == robust.MAD_TO_SIGMA


@given(DATA)
def test_mad_against_scipy(values: np.ndarray) -> None:
    wanted = stats.median_abs_deviation(values, scale="normal")
    if wanted > 1e-9:
        assert robust.mad_sigma(values) == pytest.approx(wanted, rel=1e-6)


@given(
    arrays(float, st.integers(3, 40), elements=st.integers(-500, 500)),
    st.integers(-100, 100),
    st.sampled_from([0.25, 2.0, 8.0]),
)
def test_mad_follows_shift_and_scale(values: np.ndarray, shift: int, scale: float) -> None:
    wanted = scale * robust.mad_sigma(values)
    assert robust.mad_sigma(values * scale + shift) == pytest.approx(wanted, rel=1e-6, abs=1e-8)


def test_quantised_background_does_not_divide_by_zero() -> None:
    values = [20.0] * 9 + [25.0]
    assert robust.mad_sigma(values) == pytest.approx(1.253314 * 0.5, rel=1e-6)
    assert robust.modified_z(values)[-1] == pytest.approx(5.0 / (1.253314 * 0.5), rel=1e-6)
    assert robust.mad_sigma([20.0] * 5) == 0.0
    assert robust.mad_sigma([20.0] * 5, floor=0.05) == 0.05
    assert robust.modified_z([20.0] * 5).tolist() == [0.0] * 5


def test_missing_values() -> None:
    assert math.isnan(robust.mad_sigma([])) and math.isnan(robust.mad_sigma([np.nan]))
    scores = robust.modified_z([1.0, np.nan, 2.0, 3.0])
    assert np.isnan(scores).tolist() == [False, True, False, False]
    assert np.isnan(robust.modified_z([np.nan, np.nan])).all()


def test_three_sigma_cannot_fire_among_ten_values() -> None:
    """Largest possible z is (n - 1)/sqrt(n) = 2.846 for ten values."""
    values = np.array([10.1, 10.3, 9.9, 10.0, 10.2, 10.1, 9.8, 14.0, 10.0, 10.2])
    assert np.abs(values - values.mean()).max() / values.std(ddof=1) == pytest.approx(2.826, abs=0.001)
    assert np.flatnonzero(np.abs(robust.modified_z(values)) > robust.MODIFIED_Z_LIMIT).tolist() == [7]


@given(st.integers(3, 200), st.floats(0.01, 0.2))
def test_grubbs_critical_against_scipy(n: int, alpha: float) -> None:
    t = stats.t.ppf(1 - alpha / (2 * n), n - 2)
    wanted = (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))
    assert robust.grubbs_critical(n, alpha) == pytest.approx(wanted, rel=1e-8)


def test_grubbs_on_equal_and_few_values() -> None:
    assert not robust.grubbs([5.0] * 6).outlier
    with pytest.raises(ValueError):
        robust.grubbs([1.0, 2.0])
    with pytest.raises(ValueError, match="finite"):
        robust.grubbs([1.0, 2.0, np.nan, 3.0])


def test_esd_finds_outliers_that_hide_each_other() -> None:
    rng = np.random.default_rng(5)
    values = np.concatenate([rng.normal(20.0, 0.1, 40), [23.0, 23.1]])
    assert set(robust.generalised_esd(values, 5).outliers) == {40, 41}
    assert robust.generalised_esd(rng.normal(0.0, 1.0, 40), 3, alpha=1e-6).outliers == ()
    assert robust.generalised_esd([1.0] * 10, 2).outliers == ()
    with pytest.raises(ValueError, match="outliers"):
        robust.generalised_esd([1.0, 2.0, 3.0], 1)


def test_hampel_keeps_steps_and_gaps() -> None:
    step = np.array([20.0] * 8 + [30.0] * 8)
    assert robust.hampel(step).values.tolist() == step.tolist()
    gap = robust.hampel([1.0, np.nan, 1.0, 9.0, 1.0, 1.1, 0.9])
    assert np.isnan(gap.values[1]) and gap.values[3] == 1.0 and gap.replaced.tolist()[3]
    assert robust.hampel([]).values.size == 0
    with pytest.raises(ValueError):
        robust.hampel(np.zeros((2, 2)))


@given(arrays(float, st.integers(1, 30), elements=st.floats(-100, 100)), st.integers(1, 4))
def test_hampel_against_a_plain_loop(series: np.ndarray, half: int) -> None:
    found = robust.hampel(series, half)
    for i, value in enumerate(series):
        window = series[max(0, i - half) : i + half + 1]
        median = np.median(window)
        sigma = robust.MAD_TO_SIGMA * np.median(np.abs(window - median))
        assert found.values[i] == (median if abs(value - median) > 3.0 * sigma else value)


@given(
    arrays(np.float32, st.integers(1, 60), elements=st.floats(-1e3, 1e3, width=32)),
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=4).map(sorted),
)
def test_quantiles_against_numpy(values: np.ndarray, shares: list[float]) -> None:
    wanted = np.quantile(values.astype(float), shares)
    assert robust.quantiles_of(values, shares) == pytest.approx(wanted, rel=1e-12, abs=1e-9)


def test_narrow_numbers_have_the_same_deviation() -> None:
    values = np.random.default_rng(3).normal(295.0, 0.05, 5001).astype(np.float32)
    assert robust.mad_sigma(values) == pytest.approx(robust.mad_sigma(values.astype(float)), rel=1e-5)
