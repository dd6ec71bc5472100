"""Transmittance of clear air in the long-wave window over the distances of a survey.

-ln tau = p1 d^p2 + p3 h^p4 d^p5 + p6 h^2 d with d in m and h the vapour density in g m-3: fitted for this project to
the LOWTRAN 7 band model (`lowtran7`) for -10..40 degC, 10..95 % relative humidity and 1..300 m, without aerosol, fog,
rain or dust.
Max error of the fit 0.0075 in tau, rms 0.0014; up to 10 m 0.0018.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Mask

from .planck import ZERO_CELSIUS_K
from .psychrometrics import absolute_humidity

LONGEST_M = 300.0
COLDEST_K, WARMEST_K = ZERO_CELSIUS_K - 10.0, ZERO_CELSIUS_K + 40.0
DRIEST, DAMPEST = 0.10, 0.95
FIT_ERROR_NEAR, FIT_ERROR_FAR, NEAR_M = 0.002, 0.0075, 10.0
_COEFFICIENTS = {
    (7.5, 14.0): (0.002316, 0.5755, 0.000838, 0.6982, 0.5439, 8.857e-7),
    (8.0, 14.0): (0.002259, 0.5654, 0.0003943, 0.7500, 0.5838, 9.169e-7),
    (7.5, 13.0): (0.0005177, 0.6389, 0.001038, 0.6355, 0.5316, 8.234e-7),
}
BANDS_UM = tuple(_COEFFICIENTS)


@dataclass(frozen=True)
class Transmittance:
    """`value` in (0, 1], its `bound` (largest error of the fit), and reservations (`notes`, empty if fine).

    `clamped` marks values computed at 300 m because the distance is longer than the formula reaches.
    """

    value: FloatArray
    bound: FloatArray
    clamped: Mask
    notes: tuple[str, ...]


def nearest_band(low_um: float, high_um: float) -> tuple[float, float]:
    """The band with fitted coefficients closest to the given limits in um."""
    return min(BANDS_UM, key=lambda band: abs(band[0] - low_um) + abs(band[1] - high_um))


def transmittance(
    distance_m: ArrayLike, air_k: ArrayLike, relative_humidity: ArrayLike, *, low_um: float = 7.5, high_um: float = 14.0
) -> FloatArray:
    """Transmittance of the path, exactly 1 at distance 0; arguments broadcast.

    ValueError for a relative humidity outside 0..1 (50 % is 0.5), a negative distance or air outside -60..60 degC.
    """
    return path_transmittance(distance_m, air_k, relative_humidity, low_um=low_um, high_um=high_um).value


def path_transmittance(
    distance_m: ArrayLike, air_k: ArrayLike, relative_humidity: ArrayLike, *, low_um: float = 7.5, high_um: float = 14.0
) -> Transmittance:
    """As `transmittance`, with its bound, and notes where the inputs leave the range of the fit.

    distance_m 0 or more, air_k 213 to 333 K, relative_humidity 0..1; they broadcast. Raises ValueError outside these.
    """
    d, t = np.asarray(distance_m, dtype=np.float64), np.asarray(air_k, dtype=np.float64)
    if not np.all(np.isfinite(d) & (d >= 0.0)):
        raise ValueError("distance must be a finite number of metres, not below 0")
    if not np.all((t > ZERO_CELSIUS_K - 60.0) & (t < ZERO_CELSIUS_K + 60.0)):
        raise ValueError("air temperature must lie between -60 and 60 degC (given in kelvin)")
    humidity = np.asarray(relative_humidity, dtype=np.float64)
    h = 1000.0 * absolute_humidity(t, humidity)
    if not np.all(np.isfinite(h)):
        raise ValueError("relative humidity is a fraction 0..1")
    band = nearest_band(low_um, high_um)
    p1, p2, p3, p4, p5, p6 = _COEFFICIENTS[band]
    reach = np.minimum(d, LONGEST_M)
    value = np.exp(-(p1 * reach**p2 + p3 * h**p4 * reach**p5 + p6 * h**2 * reach))
    bound = np.where(d == 0.0, 0.0, np.where(d <= NEAR_M, FIT_ERROR_NEAR, FIT_ERROR_FAR))
    shape = np.shape(value)
    notes = _notes(d, t, humidity, band, (low_um, high_um))
    return Transmittance(value, np.broadcast_to(bound, shape)[()], np.broadcast_to(d > LONGEST_M, shape)[()], notes)


def _notes(
    d: FloatArray, t: FloatArray, humidity: FloatArray, used: tuple[float, float], asked: tuple[float, float]
) -> tuple[str, ...]:
    found = []
    if np.any(d > LONGEST_M):
        found.append(f"distance beyond {LONGEST_M:g} m: the value for {LONGEST_M:g} m is used, the true one is lower")
    if np.any((t < COLDEST_K) | (t > WARMEST_K)):
        found.append("air temperature outside -10 to 40 degC, where the formula was fitted")
    if np.any((humidity < DRIEST) | (humidity > DAMPEST)):
        found.append("relative humidity outside 10 to 95 %, where the formula was fitted")
    if max(abs(used[0] - asked[0]), abs(used[1] - asked[1])) > 0.75:
        found.append(f"no coefficients for {asked[0]:g} to {asked[1]:g} um: {used[0]:g} to {used[1]:g} um is used")
    return tuple(found)
