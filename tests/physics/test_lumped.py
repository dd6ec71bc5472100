"""First-order curves: fits of known truth, refusals, and the heat index."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import lumped
from hypothesis import given
from hypothesis import strategies as st

start, end, tau = st.floats(250, 400), st.floats(250, 400), st.floats(1.0, 1e4)


@given(a=start, b=end, tau=tau)
def test_curve_starts_ends_and_stays_between(a: float, b: float, tau: float) -> None:
    t = np.linspace(0, 10 * tau, 50)
    y = lumped.first_order(t, a, b, tau)
    assert y[0] == pytest.approx(a) and y[-1] == pytest.approx(b, abs=0.01)
    assert np.all(y <= max(a, b) + 1e-9) and np.all(y >= min(a, b) - 1e-9)


@given(a=st.floats(280, 300), rise=st.floats(5, 100), tau=tau, share=st.floats(0.05, 0.95))
def test_time_to_reach_inverts_the_curve(a: float, rise: float, tau: float, share: float) -> None:
    target = a + share * rise
    t = lumped.time_to_reach(target, a, a + rise, tau)
    assert lumped.first_order(t, a, a + rise, tau) == pytest.approx(target)
    assert lumped.settled_fraction(t, tau) == pytest.approx(share)
    assert lumped.time_to_reach(a + rise, a, a + rise, tau) == np.inf


def test_fit_returns_the_truth_of_q1() -> None:
    """Dossier Q1 (scipy curve_fit): 20, 90 degC, 300 s."""
    t = np.array([0, 60, 120, 180, 300, 420, 600, 900, 1200.0])
    fit = lumped.fit_first_order(t + 5000.0, lumped.first_order(t, 293.15, 363.15, 300.0))
    assert (fit.t_start, fit.t_end, fit.time_constant) == pytest.approx((293.15, 363.15, 300.0), abs=0.01)
    assert fit.scatter < 1e-3


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_fit_with_noise_covers_the_truth_within_its_errors(sign: float) -> None:
    rng = np.random.default_rng(4)
    t = np.linspace(0, 1500, 60)
    inside = 0
    for _ in range(40):
        y = lumped.first_order(t, 330.0, 330.0 + sign * 25.0, 400.0) + 0.2 * rng.standard_normal(t.size)
        fit = lumped.fit_first_order(t, y)
        inside += abs(fit.time_constant - 400.0) < 2 * fit.time_constant_error
    assert inside >= 34


def test_fit_ignores_gaps_and_order_and_refuses_too_little() -> None:
    t = np.array([600.0, 0.0, 300.0, 900.0, 1200.0, 100.0])
    y = lumped.first_order(t, 300.0, 350.0, 250.0)
    y[3] = np.nan
    assert lumped.fit_first_order(t, y).time_constant == pytest.approx(250.0, rel=1e-3)
    for bad_t, bad_y in (([0, 1, 2], [1, 2, 3]), ([0, 1, 2, 3], [5, 5, 5, 5]), ([1, 1, 1, 1], [1, 2, 3, 4])):
        with pytest.raises(ValueError, match="4 points"):
            lumped.fit_first_order(bad_t, bad_y)


@given(a=st.floats(280, 300), rise=st.floats(10, 100), ratio=st.floats(0.3, 1.5))
def test_three_points_find_the_end_and_refuse_noise(a: float, rise: float, ratio: float) -> None:
    three = lumped.first_order(np.array([0.0, ratio, 2 * ratio]), a, a + rise, 1.0)
    assert lumped.three_point_asymptote(*three, 0.01) == pytest.approx(a + rise, abs=1e-6)
    with pytest.raises(ValueError, match="wait longer"):
        lumped.three_point_asymptote(*three, noise=rise)


def test_a_straight_line_has_no_asymptote() -> None:
    with pytest.raises(ValueError):
        lumped.three_point_asymptote(300.0, 310.0, 320.0, 0.0)


def test_thermocouple_bead_is_one_piece() -> None:
    """Incropera and DeWitt example 5.1 (from memory): Biot far below 0.1."""
    assert lumped.biot(400.0, 7.06e-4 / 6, 20.0) == pytest.approx(2.35e-3, rel=0.01)


@given(t=st.floats(300.4, 315.0), rh=st.floats(0.4, 0.8))
def test_heat_index_grows_with_humidity(t: float, rh: float) -> None:
    assert lumped.heat_index(t, rh + 0.05) > lumped.heat_index(t, rh)


def test_heat_index_adjustments_have_their_signs() -> None:
    """US weather service text (from memory): minus in dry heat, plus in damp warmth."""

    def f(t: float, rh: float) -> float:
        return float(lumped.heat_index((t + 459.67) / 1.8, rh / 100)) * 1.8 - 459.67

    def plain(t: float, r: float) -> float:
        c = [-42.379, 2.04901523, 10.14333127, -0.22475541, -0.00683783, -0.05481717, 0.00122874, 0.00085282, -1.99e-6]
        terms = [1, t, r, t * r, t * t, r * r, t * t * r, t * r * r, t * t * r * r]
        return sum(a * b for a, b in zip(c, terms, strict=True))

    assert plain(100, 10) - f(100, 10) == pytest.approx(0.75 * (12 / 17) ** 0.5, abs=1e-6)
    assert f(82, 95) - plain(82, 95) == pytest.approx(1.0, abs=1e-6)
    assert f(95, 12.99) > f(95, 5) and abs(f(95, 13.0) - f(95, 12.99)) < 0.1
    assert abs(f(87.001, 95) - f(86.999, 95)) < 0.05 and f(82, 95) - f(82, 85) > 2.0
    assert f(60, 50) == pytest.approx(0.5 * (60 + 61 + (60 - 68) * 1.2 + 4.7), abs=1e-6)


def test_stop_heats_the_front_rotor_by_about_fifty_kelvin() -> None:
    assert lumped.kinetic_energy(1500.0, 27.78) == pytest.approx(578.8e3, rel=1e-3)
    assert lumped.rotor_rise(1500.0, 100 / 3.6, 8.0) == pytest.approx(49.0, abs=0.5)
    assert lumped.stream_heat(0.5, 3600.0, 10.0) == 18000.0
