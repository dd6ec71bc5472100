"""Measurement equation: exact inverse, honest NaN, tables of counts, derivatives against finite differences."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.physics import measurement as m
from heatbrief.physics.planck import IdealBand, TotalBand
from heatbrief.physics.sakuma_hattori import fit_band
from hypothesis import given
from hypothesis import strategies as st

BAND = fit_band(7.5, 14.0)
KELVIN = st.floats(240.0, 420.0)
SHARE = st.floats(0.1, 1.0)
WINDOWS = st.one_of(
    st.none(),
    st.builds(
        m.Window,
        transmittance=st.floats(0.4, 0.85),
        reflectance=st.floats(0.0, 0.15),
        window_k=KELVIN,
        reflected_k=KELVIN,
    ),
)
SETTINGS = st.builds(
    m.Settings, emissivity=SHARE, reflected_k=KELVIN, transmittance=st.floats(0.5, 1.0), air_k=KELVIN, window=WINDOWS
)


@given(KELVIN, SETTINGS)
def test_inverse_is_exact(t: float, settings: m.Settings) -> None:
    seen = m.measured_signal(BAND, t, settings)
    assert float(m.temperature_from_signal(BAND, seen, settings)) == pytest.approx(t, abs=1e-6)


@given(KELVIN, SETTINGS)
def test_apparent_temperature_lies_between_its_parts(t: float, settings: m.Settings) -> None:
    parts = [t, settings.reflected_k, settings.air_k]
    if settings.window is not None:
        parts += [settings.window.window_k, settings.window.reflected_k]
    assert min(parts) - 1e-6 <= float(m.apparent_temperature(BAND, t, settings)) <= max(parts) + 1e-6


@given(KELVIN, SETTINGS)
def test_same_settings_change_nothing(t: float, settings: m.Settings) -> None:
    assert float(m.recorrected_temperature(BAND, t, settings, settings)) == pytest.approx(t, abs=1e-6)


@given(KELVIN, SETTINGS)
def test_sensitivities_are_derivatives(t: float, settings: m.Settings) -> None:
    """Independent reference: central differences of the inverse."""
    signal = float(m.measured_signal(BAND, t, settings))
    found = m.sensitivities(BAND, t, settings)
    inputs = {
        "emissivity": settings.emissivity,
        "reflected_k": settings.reflected_k,
        "transmittance": settings.transmittance,
        "air_k": settings.air_k,
    }

    def solved(**changed: float) -> float:
        return float(m.invert_signal(BAND, signal, window=settings.window, **{**inputs, **changed}))

    for name, value in inputs.items():
        step = 1e-5 * value
        numeric = (solved(**{name: value + step}) - solved(**{name: value - step})) / (2 * step)
        assert float(getattr(found, name)) == pytest.approx(numeric, rel=2e-4, abs=1e-5), name
    step = 1e-6 * signal
    up, down = (float(m.temperature_from_signal(BAND, signal + sign * step, settings)) for sign in (1, -1))
    assert float(found.signal) == pytest.approx((up - down) / (2 * step), rel=2e-4)


def test_window_sensitivities_are_derivatives() -> None:
    window = m.Window(0.8, 0.1, 300.0, 295.0)
    settings = m.Settings(0.9, 290.0, 0.97, 292.0, window)
    signal = float(m.measured_signal(BAND, 340.0, settings))
    found = m.sensitivities(BAND, 340.0, settings)
    names = {
        "transmittance": "window_transmittance",
        "reflectance": "window_reflectance",
        "window_k": "window_k",
        "reflected_k": "window_reflected_k",
    }
    for name, label in names.items():
        value = getattr(window, name)
        step = 1e-5 * value
        moved = [replace(settings, window=replace(window, **{name: value + sign * step})) for sign in (1, -1)]
        up, down = (float(m.temperature_from_signal(BAND, signal, one)) for one in moved)
        assert float(getattr(found, label)) == pytest.approx((up - down) / (2 * step), rel=1e-4), name


def test_relative_signal_rule_of_thumb() -> None:
    """One per cent of signal without reflection is 0.01 T/n, 8-14 um; values computed by scipy quadrature."""
    band = IdealBand(8.0, 14.0)
    t = np.array([20.0, 37.0, 60.0, 100.0, 300.0]) + 273.15
    found = 0.01 * band.signal(t) / band.slope(t)
    np.testing.assert_allclose(found, [0.628, 0.697, 0.795, 0.979, 2.109], atol=0.0006)


def test_no_solution_is_masked_and_counted() -> None:
    """Reflected part larger than the signal (computed case: 25 degC, emissivity 0.1, reflected set 10 K too high)."""
    right = m.Settings(emissivity=0.1, reflected_k=293.15)
    wrong = replace(right, reflected_k=303.15)
    picture = np.array([[298.15, 373.15], [np.nan, 423.15]])
    seen = m.apparent_temperature(BAND, picture, right)
    solved = m.object_temperature(BAND, seen, wrong)
    assert m.unsolved(seen, solved).tolist() == [[True, False], [False, False]]
    assert np.isnan(solved[1, 0])


def test_per_pixel_emissivity() -> None:
    eps = np.array([[0.95, 0.3], [0.6, 0.8]], dtype=np.float32)
    settings = m.Settings(emissivity=eps, reflected_k=290.0, transmittance=0.98, air_k=293.0)
    picture = np.full((2, 2), 330.0, dtype=np.float32)
    seen = m.apparent_temperature(BAND, picture, settings)
    solved = m.object_temperature(BAND, seen, settings)
    assert seen.dtype == solved.dtype == np.float32
    np.testing.assert_allclose(solved, picture, atol=2e-3)
    single = m.object_temperature(BAND, seen[0, 1], replace(settings, emissivity=0.3))
    assert float(single) == pytest.approx(float(solved[0, 1]), abs=2e-3)


@given(st.integers(0, 65535), SETTINGS, st.sampled_from([(0.01, 0.0), (0.04, 0.0), (0.1, 200.0)]))
def test_table_agrees_with_the_equation(count: int, settings: m.Settings, scaling: tuple[float, float]) -> None:
    table = m.object_temperature_lut(BAND, *scaling, settings)
    kelvin = scaling[0] * count + scaling[1]
    assert table.shape == (65536,) and table.dtype == np.float32
    wanted = float(m.object_temperature(BAND, kelvin, settings)) if kelvin > 0 else np.nan
    assert float(np.take(table, np.uint16(count))) == pytest.approx(wanted, rel=1e-6, nan_ok=True)


def test_table_undoes_stated_settings() -> None:
    stated = m.Settings(emissivity=0.95, reflected_k=295.0)
    table = m.object_temperature_lut(BAND, 0.01, 0.0, m.Settings(emissivity=0.6, reflected_k=280.0), stated=stated)
    same = m.object_temperature_lut(BAND, 0.01, 0.0, stated, stated=stated)
    assert float(same[30000]) == pytest.approx(300.0, abs=1e-3)
    assert float(table[30000]) > 301.0
    assert np.isnan(same[0])


def test_table_refuses_what_it_cannot_hold() -> None:
    with pytest.raises(ValueError, match="one emissivity"):
        m.object_temperature_lut(BAND, 0.01, 0.0, m.Settings(emissivity=np.full((2, 1), 0.9)))
    for scale in (0.0, np.nan, np.inf):
        with pytest.raises(ValueError, match="scale"):
            m.object_temperature_lut(BAND, scale, 0.0, m.Settings())


@pytest.mark.parametrize(
    "wrong",
    [
        {"emissivity": 0.0},
        {"emissivity": 1.2},
        {"emissivity": np.nan},
        {"transmittance": 0.0},
        {"reflected_k": -1.0},
        {"air_k": 0.0},
        {"emissivity": np.array([0.9, -0.1])},
    ],
)
def test_impossible_settings_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError):
        m.Settings(**wrong)


@pytest.mark.parametrize("wrong", [(0.9, 0.2, 300.0, 300.0), (0.0, 0.1, 300.0, 300.0), (0.8, 0.1, 0.0, 300.0)])
def test_impossible_windows_are_refused(wrong: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="window"):
        m.Window(*wrong)


@given(st.floats(0.05, 1.0), KELVIN, st.floats(5.0, 80.0))
def test_reference_emissivity_inverts_the_equation(eps: float, reflected: float, excess: float) -> None:
    true = reflected + excess
    seen = m.apparent_temperature(BAND, true, m.Settings(eps, reflected))
    assert float(m.emissivity_from_reference(BAND, seen, true, reflected)) == pytest.approx(eps, abs=1e-6)


def test_total_radiation_form_needs_only_ratios() -> None:
    """The T^4 form by hand: eps T_o^4 + (1 - eps) T_r^4."""
    seen = float(m.apparent_temperature(TotalBand(), 333.15, m.Settings(0.8, 293.15)))
    assert seen == pytest.approx((0.8 * 333.15**4 + 0.2 * 293.15**4) ** 0.25, rel=1e-12)
