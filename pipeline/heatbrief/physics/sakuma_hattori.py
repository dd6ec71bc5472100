"""Sakuma-Hattori interpolation in Planck form: one exponential that stands for the radiance of a whole waveband.

S(T) = C / (exp(c2/(A T + B)) - 1). Sources: `sakuma-hattori`, `cct-wg5`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

from .planck import C2_UM_K, Band, IdealBand, TabulatedBand, floating

FIT_POINTS = 200
MOST_ROUNDS, MOST_HALVINGS = 50, 40
FAR_OFF = 2e-4
"""A fit that misses by more than this part of its range of temperatures is tried again by slower means."""
DEFAULT_LOW_K = 233.15
DEFAULT_HIGH_K = 623.15


@dataclass(frozen=True)
class BandModel:
    """Signal of a blackbody in a waveband: a in um, b in um K, c in the unit of the signal.

    Fitted between `low_k` and `high_k`; `max_error_k` and `rms_error_k` are the temperature errors of the fit there.
    Arrays of float32 stay float32. Signals <= 0 give NaN.
    """

    a: float
    b: float
    c: float
    low_k: float = 0.0
    high_k: float = math.inf
    max_error_k: float = math.nan
    rms_error_k: float = math.nan

    def signal(self, t: ArrayLike) -> FloatArray:
        """Signal of a blackbody at t [K] by the fitted form, in the unit of the fit; shape of t."""
        return planck_form(t, self.a, self.b, self.c)

    def temperature(self, s: ArrayLike) -> FloatArray:
        """Temperature [K] of a blackbody of this signal; NaN for signals that are not above 0."""
        return planck_form_inverse(s, self.a, self.b, self.c)

    def slope(self, t: ArrayLike) -> FloatArray:
        """d(signal)/dT at t [K], per kelvin; shape of t."""
        return planck_form_slope(t, self.a, self.b, self.c)


def planck_form(t: ArrayLike, a: float, b: float, c: float) -> FloatArray:
    """S(T) for T in kelvin, any shape; NaN where A T + B <= 0, which no temperature in use reaches."""
    argument = a * floating(t) + b
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        signal = c / np.expm1(C2_UM_K / argument)
    return signal if np.all(argument > 0) else np.where(argument > 0, signal, np.nan)[()]


def planck_form_inverse(s: ArrayLike, a: float, b: float, c: float) -> FloatArray:
    """T in kelvin for a signal; NaN where the signal is not positive."""
    signal = floating(s)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (C2_UM_K / a) / np.log1p(c / signal) - b / a
        return np.where((signal > 0) & (t > 0), t, signal.dtype.type(np.nan))[()]


def planck_form_slope(t: ArrayLike, a: float, b: float, c: float) -> FloatArray:
    """dS/dT per kelvin."""
    argument = a * floating(t) + b
    x = C2_UM_K / argument
    with np.errstate(over="ignore", invalid="ignore"):
        # c x a / argument * e^x / (e^x - 1)^2, written so that large x underflows to zero and not to NaN
        result: FloatArray = c * a * x / argument * np.exp(-x) / np.expm1(-x) ** 2
        return result


def analytic_coefficients(low_um: float, high_um: float) -> tuple[float, float]:
    """A (um) and B (um K) of a rectangular band from its centre and width, without fitting (Saunders; `cct-wg5`)."""
    centre = 0.5 * (low_um + high_um)
    spread = (high_um - low_um) ** 2 / 12.0 / centre**2
    return centre * (1.0 - 6.0 * spread), 0.5 * C2_UM_K * spread


@lru_cache(maxsize=64)
def fit_band(low_um: float, high_um: float, low_k: float = DEFAULT_LOW_K, high_k: float = DEFAULT_HIGH_K) -> BandModel:
    """Least-squares fit to an ideal band over a temperature range; cached, so repeated use costs nothing.

    Raises ValueError unless 0 < low < high for the wavelengths [um] and for the temperatures [K].
    """
    a, b = analytic_coefficients(low_um, high_um)
    return _fit(IdealBand(low_um, high_um), a, b, low_k, high_k)


@lru_cache(maxsize=64)
def fit_response(
    wavelengths_um: tuple[float, ...],
    response: tuple[float, ...],
    low_k: float = DEFAULT_LOW_K,
    high_k: float = DEFAULT_HIGH_K,
) -> BandModel:
    """Least-squares fit to a tabulated spectral response (tuples, so that the fit can be cached).

    Wavelengths in um, rising, and a relative response 0 or more for each; temperatures in K. Raises ValueError otherwise.
    """
    lam, weight = np.asarray(wavelengths_um, float), np.asarray(response, float)
    band = TabulatedBand(tuple(wavelengths_um), tuple(response))
    fine = np.linspace(lam[0], lam[-1], 10 * FIT_POINTS)  # points may be few and unevenly spaced
    share = np.interp(fine, lam, weight)
    centre = float(np.average(fine, weights=share))
    spread = float(np.average((fine - centre) ** 2, weights=share)) / centre**2
    return _fit(band, centre * (1.0 - 6.0 * spread), 0.5 * C2_UM_K * spread, low_k, high_k)


def _fit(band: Band, a: float, b: float, low_k: float, high_k: float) -> BandModel:
    if not 0.0 < low_k < high_k < math.inf:
        raise ValueError(f"a fit needs 0 < low < high temperatures, got {low_k} K to {high_k} K")
    t = np.linspace(low_k, high_k, FIT_POINTS)
    signal = band.signal(t)
    middle = FIT_POINTS // 2
    c = float(signal[middle] * np.expm1(C2_UM_K / (a * t[middle] + b)))
    a, b, c = _least_squares(signal, t, np.array([a, b, c]))
    error = planck_form_inverse(signal, a, b, c) - t
    return BandModel(a, b, c, low_k, high_k, float(np.max(np.abs(error))), float(np.sqrt(np.mean(error**2))))


def _least_squares(signal: FloatArray, t: FloatArray, start: FloatArray) -> tuple[float, float, float]:
    """Gauss-Newton with the exact derivatives; a step that makes it worse is halved. Three parameters and a start that is
    near do not need the hundred milliseconds that a general optimiser takes to load."""
    found, error = start, planck_form_inverse(signal, *start) - t
    if not np.all(np.isfinite(error)):
        raise ValueError("the band gives no signal at some of the temperatures")
    for _ in range(MOST_ROUNDS):
        a, b, c = found
        with np.errstate(all="ignore"):
            by_c = -C2_UM_K / (a * (signal + c) * np.log1p(c / signal) ** 2)
        slopes = np.stack([-(error + t) / a, np.full_like(t, -1.0 / a), by_c], axis=1)
        size = np.sqrt((slopes**2).sum(axis=0))
        move = np.linalg.lstsq(slopes / size, -error, rcond=None)[0] / size
        for _ in range(MOST_HALVINGS):
            tried = planck_form_inverse(signal, *(found + move)) - t
            if np.sum(tried**2) <= np.sum(error**2):
                break
            move = 0.5 * move
        else:
            break  # nothing makes it better: as good as numbers allow, or a start too far off
        done = np.all(np.abs(move) <= 1e-13 * np.abs(found))
        found, error = found + move, tried
        if done:
            break
    if np.abs(error).max() > max(FAR_OFF * (t[-1] - t[0]), 1e-6) or not np.all(np.isfinite(found)):
        found = _slowly(signal, t, start)
    a, b, c = (float(value) for value in found)
    return a, b, c


def _slowly(signal: FloatArray, t: FloatArray, start: FloatArray) -> FloatArray:
    """The same by a general optimiser, for responses that no start fits well."""
    from scipy.optimize import least_squares

    scale = np.array([start[0], max(abs(float(start[1])), 1.0), start[2]])

    def residual(unit: FloatArray) -> FloatArray:
        return planck_form_inverse(signal, *(unit * scale)) - t

    found = least_squares(residual, start / scale, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    best: FloatArray = found.x * scale
    return best
