"""Planck's law: exitance, spectral radiance, fractions, and the radiance of a waveband with its inverse.

Wavelengths are in micrometres (um), temperatures in kelvin, radiances in W m-2 sr-1. Constants: CODATA 2018.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Values

ZERO_CELSIUS_K = 273.15
PLANCK_J_S = 6.62607015e-34
LIGHT_M_S = 299792458.0
BOLTZMANN_J_K = 1.380649e-23
C1_W_M2 = 2.0 * math.pi * PLANCK_J_S * LIGHT_M_S**2
C1L_W_M2_SR = 2.0 * PLANCK_J_S * LIGHT_M_S**2
C2_M_K = PLANCK_J_S * LIGHT_M_S / BOLTZMANN_J_K
C2_UM_K = C2_M_K * 1e6
SIGMA_W_M2_K4 = 2.0 * math.pi**5 * BOLTZMANN_J_K**4 / (15.0 * PLANCK_J_S**3 * LIGHT_M_S**2)
WIEN_UM_K = 2897.771955185172

_SERIES_TERMS = 40
_SMALL_X = 1.0
_GAUSS_POINTS = 8
_LOWEST_K = 1.0
_HIGHEST_K = 1e5
# B_2k / ((2k + 3) (2k)!) for k = 1..10: the expansion of the integral of x^3/(e^x - 1) near zero.
_BERNOULLI = (1 / 6, -1 / 30, 1 / 42, -1 / 30, 5 / 66, -691 / 2730, 7 / 6, -3617 / 510, 43867 / 798, -174611 / 330)
_SMALL_X_SERIES = tuple(b / ((2 * k + 3) * math.factorial(2 * k)) for k, b in enumerate(_BERNOULLI, 1))


class Band(Protocol):
    """What the measurement equation needs to know of a detector: monotone signal of a blackbody, inverse and slope."""

    def signal(self, t: ArrayLike) -> FloatArray:
        """Signal of a blackbody at t [K], in the band's own unit; rises with t; shape of t."""
        ...

    def temperature(self, s: ArrayLike) -> FloatArray:
        """Temperature [K] of a blackbody of this signal, the inverse of `signal`; NaN where there is none."""
        ...

    def slope(self, t: ArrayLike) -> FloatArray:
        """d(signal)/dT at t [K], per kelvin; shape of t."""
        ...


def floating(values: ArrayLike) -> FloatArray:
    """As an array of floats; float32 stays float32, everything else becomes float64; same shape."""
    array = np.asarray(values)
    return array if array.dtype in (np.float32, np.float64) else array.astype(np.float64)


def exitance(t: ArrayLike) -> FloatArray:
    """Blackbody exitance sigma T^4 in W m-2, over all wavelengths and the hemisphere."""
    return SIGMA_W_M2_K4 * floating(t) ** 4


def peak_wavelength(t: ArrayLike) -> FloatArray:
    """Wavelength of greatest spectral radiance per wavelength, um (Wien)."""
    return WIEN_UM_K / floating(t)


def spectral_radiance(wavelength_um: ArrayLike, t: ArrayLike) -> FloatArray:
    """Blackbody spectral radiance, W m-2 sr-1 um-1; arguments broadcast."""
    lam = floating(wavelength_um)
    with np.errstate(over="ignore", divide="ignore"):
        return C1L_W_M2_SR * 1e24 / (lam**5 * np.expm1(C2_UM_K / (lam * floating(t))))


def fraction_below(wavelength_temperature: ArrayLike) -> FloatArray:
    """Fraction F(0 -> lambda T) of blackbody exitance below a wavelength; argument lambda*T in um K. Source: blackbody-fractions-table.

    Exponential series for x = c2/(lambda T) >= 1, Bernoulli expansion below it: relative error under 1e-13.
    """
    product = np.asarray(wavelength_temperature, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = C2_UM_K / np.maximum(product, 0.0)
    result = np.where(np.isnan(product), np.nan, 0.0)
    large = (x >= _SMALL_X) & np.isfinite(x)
    result[large] = _fraction_large(x[large])
    small = x < _SMALL_X
    result[small] = 1.0 - _fraction_above_small(x[small])
    return result[()]


def _fraction_large(x: FloatArray) -> FloatArray:
    total = np.zeros_like(x)
    terms = math.ceil(_SERIES_TERMS / float(np.min(x))) if x.size else 0
    for n in range(1, terms + 1):
        total += np.exp(-n * x) * (x**3 / n + 3 * x**2 / n**2 + 6 * x / n**3 + 6.0 / n**4)
    return 15.0 / math.pi**4 * total


def _fraction_above_small(x: FloatArray) -> FloatArray:
    total = 1.0 / 3.0 - x / 8.0
    for k, factor in enumerate(_SMALL_X_SERIES, 1):
        total = total + factor * x ** (2 * k)
    return 15.0 / math.pi**4 * x**3 * total


@dataclass(frozen=True)
class IdealBand:
    """A detector with equal response between two wavelengths in um and none outside."""

    low_um: float
    high_um: float

    def __post_init__(self) -> None:
        if not 0.0 < self.low_um < self.high_um:
            raise ValueError(f"a band needs 0 < low < high, got {self.low_um} um to {self.high_um} um")

    def signal(self, t: ArrayLike) -> FloatArray:
        """Radiance in the band of a blackbody at t [K], W m-2 sr-1; shape of t."""
        return band_radiance(t, self.low_um, self.high_um)

    def temperature(self, s: ArrayLike) -> FloatArray:
        """Temperature [K] of a blackbody with this radiance in the band, W m-2 sr-1; NaN where there is none."""
        return band_temperature(s, self.low_um, self.high_um)

    def slope(self, t: ArrayLike) -> FloatArray:
        """d(signal)/dT at t [K], W m-2 sr-1 K-1; shape of t."""
        return band_slope(t, self.low_um, self.high_um)


@dataclass(frozen=True)
class TotalBand:
    """A detector that responds to all wavelengths alike: the T^4 form, signal sigma T^4 / pi."""

    def signal(self, t: ArrayLike) -> FloatArray:
        """Radiance in the band of a blackbody at t [K], W m-2 sr-1; shape of t."""
        return exitance(t) / math.pi

    def temperature(self, s: ArrayLike) -> FloatArray:
        """Temperature [K] of a blackbody with this radiance in the band, W m-2 sr-1; NaN where there is none."""
        radiance = floating(s)
        with np.errstate(invalid="ignore"):
            return np.where(radiance > 0, (math.pi * np.maximum(radiance, 0) / SIGMA_W_M2_K4) ** 0.25, np.nan)[()]

    def slope(self, t: ArrayLike) -> FloatArray:
        """d(signal)/dT at t [K], W m-2 sr-1 K-1; shape of t."""
        return 4.0 * SIGMA_W_M2_K4 / math.pi * floating(t) ** 3


def band_radiance(t: ArrayLike, low_um: float, high_um: float) -> FloatArray:
    """Radiance of a blackbody between two wavelengths, W m-2 sr-1. Source: planck-integrals."""
    kelvin = np.asarray(t, dtype=np.float64)
    share = fraction_below(high_um * kelvin) - fraction_below(low_um * kelvin)
    return exitance(kelvin) / math.pi * share


def band_slope(t: ArrayLike, low_um: float, high_um: float) -> FloatArray:
    """d(band radiance)/dT, W m-2 sr-1 K-1, exact derivative of `band_radiance`."""
    kelvin = np.asarray(t, dtype=np.float64)
    share = fraction_below(high_um * kelvin) - fraction_below(low_um * kelvin)
    edges = _edge(high_um * kelvin) - _edge(low_um * kelvin)
    return SIGMA_W_M2_K4 / math.pi * kelvin**3 * (4.0 * share + edges)


def _edge(product: FloatArray) -> FloatArray:
    with np.errstate(over="ignore", divide="ignore"):
        x = C2_UM_K / product
        result: FloatArray = 15.0 / math.pi**4 * x**4 / np.expm1(x)
        return result


def band_temperature(radiance: ArrayLike, low_um: float, high_um: float) -> FloatArray:
    """Blackbody temperature in kelvin with this radiance in the band; NaN where there is none (radiance <= 0)."""
    return _invert(
        np.asarray(radiance, dtype=np.float64),
        lambda t: band_radiance(t, low_um, high_um),
        lambda t: band_slope(t, low_um, high_um),
        0.5 * (low_um + high_um),
    )


def _invert(
    radiance: FloatArray,
    signal: Callable[[Values], FloatArray],
    slope: Callable[[Values], FloatArray],
    centre_um: float,
) -> FloatArray:
    """Newton on log radiance against 1/T, where a band is almost a straight line."""
    with np.errstate(divide="ignore", invalid="ignore"):
        target = np.log(np.where(radiance > 0, radiance, np.nan))
    reference = 300.0
    gain = float(slope(np.float64(reference)) / signal(np.float64(reference)) * reference**2)
    inverse = 1.0 / reference - (target - math.log(float(signal(np.float64(reference))))) / gain
    inverse = np.clip(inverse, 1.0 / (50.0 * C2_UM_K / centre_um), 1.0 / (0.02 * C2_UM_K / centre_um))
    for _ in range(60):
        t = 1.0 / inverse
        with np.errstate(divide="ignore", invalid="ignore"):
            level = signal(t)
            step = (np.log(level) - target) / (slope(t) / level * t**2)
        inverse = np.clip(inverse + step, 0.2 * inverse, 5.0 * inverse)
        if not np.any(np.abs(step) > 1e-14 * np.abs(inverse)):
            break
    found = 1.0 / inverse
    return np.where((found > _LOWEST_K) & (found < _HIGHEST_K), found, np.nan)[()]


@dataclass(frozen=True)
class TabulatedBand:
    """A detector with a spectral response given at wavelengths in um, linear between them, zero outside."""

    wavelengths_um: tuple[float, ...]
    response: tuple[float, ...]

    def __post_init__(self) -> None:
        lam, weight = np.asarray(self.wavelengths_um, float), np.asarray(self.response, float)
        if lam.ndim != 1 or lam.shape != weight.shape or lam.size < 2:
            raise ValueError("a spectral response needs at least two wavelengths and one response for each")
        if not (np.all(np.isfinite(lam)) and np.all(np.isfinite(weight)) and np.all(np.diff(lam) > 0) and lam[0] > 0):
            raise ValueError("wavelengths must be finite, positive and rising")
        if np.any(weight < 0) or not np.any(weight > 0):
            raise ValueError("responses must not be negative, and one must be above zero")

    def signal(self, t: ArrayLike) -> FloatArray:
        """Radiance in the band of a blackbody at t [K], W m-2 sr-1; shape of t."""
        lam, weight = self._nodes()
        kelvin = np.asarray(t, dtype=np.float64)[..., None]
        result: FloatArray = np.sum(weight * spectral_radiance(lam, kelvin), axis=-1)
        return result

    def slope(self, t: ArrayLike) -> FloatArray:
        """d(signal)/dT at t [K], W m-2 sr-1 K-1; shape of t."""
        lam, weight = self._nodes()
        kelvin = np.asarray(t, dtype=np.float64)[..., None]
        x = C2_UM_K / (lam * kelvin)
        result: FloatArray = np.sum(weight * spectral_radiance(lam, kelvin) * x / (kelvin * -np.expm1(-x)), axis=-1)
        return result

    def temperature(self, s: ArrayLike) -> FloatArray:
        """Temperature [K] of a blackbody with this radiance in the band, W m-2 sr-1; NaN where there is none."""
        centre = float(np.average(self.wavelengths_um, weights=self.response))
        return _invert(np.asarray(s, dtype=np.float64), self.signal, self.slope, centre)

    def _nodes(self) -> tuple[FloatArray, FloatArray]:
        """Gauss-Legendre nodes inside every interval, with quadrature weight times response."""
        points, weights = np.polynomial.legendre.leggauss(_GAUSS_POINTS)
        edges = np.asarray(self.wavelengths_um, float)
        half = np.diff(edges)[:, None] / 2.0
        lam = (edges[:-1, None] + half + half * points).ravel()
        return lam, (half * weights).ravel() * np.interp(lam, edges, self.response)
