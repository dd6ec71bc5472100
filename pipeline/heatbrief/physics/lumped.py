"""Things that warm and cool as one piece: first-order curves, heat balances, heat index.

SI: temperatures K, time s, power W, mass kg, heat capacity J kg-1 K-1.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Values


@dataclass(frozen=True)
class FirstOrderFit:
    """Fitted start, end (K) and time constant (s) with standard errors and residual scatter (K)."""

    t_start: float
    t_end: float
    time_constant: float
    t_start_error: float
    t_end_error: float
    time_constant_error: float
    scatter: float


def first_order(time: Values, t_start: Values, t_end: Values, time_constant: Values) -> FloatArray:
    """Tend + (Tstart - Tend) exp(-t / tau), K. Source: first-order"""
    decay = np.exp(-np.asarray(time, float) / time_constant)
    return t_end + (t_start - np.asarray(t_end, float)) * decay


def settled_fraction(time: Values, time_constant: Values) -> FloatArray:
    """1 - exp(-t / tau): 0.632 after one time constant, 0.950 after three. Source: first-order"""
    return -np.expm1(-np.asarray(time, float) / time_constant)


def time_to_reach(t_target: Values, t_start: Values, t_end: Values, time_constant: Values) -> FloatArray:
    """Time to reach a temperature, s; infinite when it lies at or beyond the end. Source: first-order"""
    share = (np.asarray(t_target, float) - t_end) / (np.asarray(t_start, float) - t_end)
    with np.errstate(divide="ignore", invalid="ignore"):
        taken = -time_constant * np.log(share)
    return np.where(share <= 0.0, np.inf, np.maximum(taken, 0.0))[()]


def initial_slope(t_start: Values, t_end: Values, time_constant: Values) -> FloatArray:
    """(Tend - Tstart) / tau, K/s. Source: first-order"""
    return (np.asarray(t_end, float) - t_start) / time_constant


def fit_first_order(time: ArrayLike, temperature: ArrayLike) -> FirstOrderFit:
    """Least-squares first-order curve through a series; needs 4 finite points or more.

    The time constant is held between a tenth of the shortest step and 100 times the span; a value
    near either bound, or errors larger than the values, mean the series does not fix it.
    Errors are infinite where the series does not determine a value. Raises ValueError for too few
    points, a series that does not change, or no fit.
    Source: first-order
    """
    from scipy.optimize import OptimizeWarning, curve_fit

    t, y = np.asarray(time, float), np.asarray(temperature, float)
    good = np.isfinite(t) & np.isfinite(y)
    t, y = t[good], y[good]
    order = np.argsort(t, kind="stable")
    t, y = t[order], y[order]
    if t.size < 4 or t[-1] <= t[0] or np.ptp(y) == 0.0:
        raise ValueError("a first-order fit needs 4 points or more, over time, that change")
    origin, span, reach = t[0], t[-1] - t[0], float(np.ptp(y))
    steps = np.diff(t)
    shortest = float(steps[steps > 0.0].min())
    bounds = (
        [y.min() - 2.0 * reach, y.min() - 20.0 * reach, 0.1 * shortest],
        [y.max() + 2.0 * reach, y.max() + 20.0 * reach, 100.0 * span],
    )
    guess = (y[0], y[-1] + 0.1 * (y[-1] - y[0]), max(span / 3.0, shortest))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", OptimizeWarning)
            best, covariance = curve_fit(first_order, t - origin, y, guess, bounds=bounds)
    except RuntimeError as error:
        raise ValueError("no first-order curve fits this series") from error
    errors = np.sqrt(np.diag(covariance))
    residual = y - first_order(t - origin, *best)
    scatter = float(np.sqrt(np.sum(residual**2) / max(t.size - 3, 1)))
    start, end, constant = (float(one) for one in best)
    errors_of = tuple(float(one) for one in errors)
    return FirstOrderFit(start, end, constant, errors_of[0], errors_of[1], errors_of[2], scatter)


def three_point_asymptote(t1: float, t2: float, t3: float, noise: float) -> float:
    """(T1 T3 - T2^2) / (T1 + T3 - 2 T2) of three equally spaced readings, K.

    noise: standard deviation of one reading, K. Raises ValueError when the curvature
    T1 + T3 - 2 T2 is below 3 times the noise, where the result means nothing.
    Source: first-order, own-choice
    """
    curvature = t1 + t3 - 2.0 * t2
    if abs(curvature) <= 3.0 * noise or curvature == 0.0:
        raise ValueError(
            f"curvature {abs(curvature):.3g} K is not above 3 times the noise ({noise:.3g} K): "
            "wait longer between readings or take more of them"
        )
    return (t1 * t3 - t2**2) / curvature


def lumped_time_constant(
    density: Values, heat_capacity: Values, volume_per_area: Values, h_surface: Values
) -> FloatArray:
    """rho c (V/A) / h, s; V/A is D/6 for a sphere. Holds for Biot below 0.1. Source: incropera"""
    return density * heat_capacity * np.asarray(volume_per_area, float) / h_surface


def biot(h_surface: Values, length: Values, conductivity: Values) -> FloatArray:
    """h L / k; the body counts as one piece below 0.1. Source: incropera"""
    return np.asarray(h_surface, float) * length / conductivity


def rate_of_rise(power: Values, heat_capacity_total: Values) -> FloatArray:
    """P / (m c), K/s; heat_capacity_total J/K (sum m c over the parts). Source: lumped-balance"""
    return np.asarray(power, float) / heat_capacity_total


def stream_heat(mass_flow: Values, heat_capacity: Values, temperature_drop: Values) -> FloatArray:
    """m cp dT, W: heat a coolant gives up in its radiator. Source: lumped-balance"""
    return np.asarray(mass_flow, float) * heat_capacity * temperature_drop


def kinetic_energy(mass: Values, speed: Values, speed_end: Values = 0.0) -> FloatArray:
    """m (v0^2 - v1^2) / 2, J: what a stop turns into heat. Source: lumped-balance"""
    return 0.5 * mass * (np.asarray(speed, float) ** 2 - speed_end**2)


def rotor_rise(
    mass: Values, speed: Values, rotor_mass: Values, share: Values = 0.325, heat_capacity: Values = 480.0
) -> FloatArray:
    """Mean temperature rise of one brake rotor in a stop from a speed (m/s), K.

    share: of the stop taken by this rotor; 0.65 front over two wheels is 0.325. No cooling.
    Source: lumped-balance
    """
    return kinetic_energy(mass, speed) * share / (rotor_mass * heat_capacity)


def heat_index(t_air: Values, humidity: Values) -> FloatArray:
    """Heat index of the US weather service (Rothfusz with adjustments), K.

    t_air K, humidity 0..1. In shade; full sun adds up to 8 K. Below about 27 degC the simple form.

    >>> round(float(heat_index(308.70556, 0.65)) * 1.8 - 459.67, 1)
    121.0

    Source: nws-heat-index
    """
    t = np.asarray(t_air, float) * 1.8 - 459.67
    r = 100.0 * np.asarray(humidity, float)
    simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094)
    full = (
        -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r
        - 6.83783e-3 * t**2 - 5.481717e-2 * r**2 + 1.22874e-3 * t**2 * r
        + 8.5282e-4 * t * r**2 - 1.99e-6 * t**2 * r**2
    )  # fmt: skip
    near = np.sqrt(np.clip(17.0 - np.abs(t - 95.0), 0.0, None) / 17.0)
    dry = np.where((r < 13.0) & (t >= 80.0) & (t <= 112.0), (13.0 - r) / 4.0 * near, 0.0)
    damp = np.where((r > 85.0) & (t >= 80.0) & (t <= 87.0), (r - 85.0) / 10.0 * (87.0 - t) / 5.0, 0.0)
    result = np.where(0.5 * (simple + t) < 80.0, simple, full - dry + damp)
    return ((result + 459.67) / 1.8)[()]
