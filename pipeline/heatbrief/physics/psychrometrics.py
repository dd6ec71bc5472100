"""Moist air: saturation pressure, dew point, wet bulb, humidity ratio, and the humidity of air at a cool surface.

Saturation pressure is Hyland-Wexler as printed in the ASHRAE Handbook of Fundamentals (`ashrae-psychrometrics`): over
ice below the triple point, over water above it, unless told otherwise. Temperatures in kelvin, pressures in Pa,
relative humidity as a fraction 0..1. Everything is vectorised; a relative humidity outside 0..1 raises ValueError.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

from .planck import ZERO_CELSIUS_K

Phase = Literal["auto", "water", "ice"]

STANDARD_PRESSURE_PA = 101325.0
TRIPLE_POINT_K = 273.16
MOLAR_MASS_RATIO = 0.621945
VAPOUR_GAS_CONSTANT = 461.52
LOWEST_K, HIGHEST_K = 173.15, 473.15
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
_BISECTIONS = 48


def _log_pressure(t: FloatArray, c: tuple[float, ...]) -> FloatArray:
    result: FloatArray = c[0] / t + c[1] + c[2] * t + c[3] * t**2 + c[4] * t**3 + c[5] * t**4 + c[6] * np.log(t)
    return result


def _log_pressure_slope(t: FloatArray, c: tuple[float, ...]) -> FloatArray:
    result: FloatArray = -c[0] / t**2 + c[2] + 2 * c[3] * t + 3 * c[4] * t**2 + 4 * c[5] * t**3 + c[6] / t
    return result


def _both(t: FloatArray, over: Phase, function: Callable[[FloatArray, tuple[float, ...]], FloatArray]) -> FloatArray:
    if over == "auto":
        return np.where(t <= TRIPLE_POINT_K, function(t, _ICE), function(t, _WATER))
    return function(t, _ICE if over == "ice" else _WATER)


def saturation_pressure(t: ArrayLike, over: Phase = "auto") -> FloatArray:
    """Saturation vapour pressure in Pa for -100..200 degC; NaN outside. Sources: ashrae-psychrometrics, iapws-97."""
    kelvin = np.asarray(t, dtype=np.float64)
    inside = (kelvin >= LOWEST_K) & (kelvin <= HIGHEST_K)
    safe = np.where(inside, kelvin, TRIPLE_POINT_K)
    return np.where(inside, np.exp(_both(safe, over, _log_pressure)), np.nan)[()]


def saturation_slope(t: ArrayLike, over: Phase = "auto") -> FloatArray:
    """d(saturation pressure)/dT in Pa/K, NaN outside -100..200 degC."""
    kelvin = np.asarray(t, dtype=np.float64)
    inside = (kelvin >= LOWEST_K) & (kelvin <= HIGHEST_K)
    safe = np.where(inside, kelvin, TRIPLE_POINT_K)
    return saturation_pressure(kelvin, over) * _both(safe, over, _log_pressure_slope)


def check_humidity(relative_humidity: ArrayLike) -> FloatArray:
    """As float array; ValueError unless every value is a fraction 0..1 (50 % is 0.5, never 50)."""
    fraction = np.asarray(relative_humidity, dtype=np.float64)
    bad = (fraction < 0.0) | (fraction > 1.0)
    if np.any(bad):
        raise ValueError(f"relative humidity is a fraction 0..1, got {fraction[bad].flat[0]:g}")
    return fraction


def vapour_pressure(air_k: ArrayLike, relative_humidity: ArrayLike, over: Phase = "auto") -> FloatArray:
    """Partial pressure of water vapour in Pa."""
    return check_humidity(relative_humidity) * saturation_pressure(air_k, over)


def absolute_humidity(air_k: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Mass of water vapour per volume of air, kg m-3 (ideal gas)."""
    return vapour_pressure(air_k, relative_humidity) / (VAPOUR_GAS_CONSTANT * np.asarray(air_k, dtype=np.float64))


def dew_point_from_pressure(vapour_pa: ArrayLike, over: Phase = "auto") -> FloatArray:
    """Temperature in kelvin at which this vapour pressure saturates; the frost point below 0.01 degC in "auto".

    NaN for pressures <= 0 or outside the range of the formula.
    """
    pressure = np.asarray(vapour_pa, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        target = np.log(np.where(pressure > 0, pressure, np.nan))
        magnus = np.log(pressure / 611.2)  # the first guess. Source: magnus-wmo
        t = ZERO_CELSIUS_K + 243.12 * magnus / (17.62 - magnus)
    for _ in range(8):
        t = np.clip(t, LOWEST_K - 5.0, HIGHEST_K + 5.0)
        t = t - (_both(t, over, _log_pressure) - target) / _both(t, over, _log_pressure_slope)
    return np.where((t >= LOWEST_K) & (t <= HIGHEST_K), t, np.nan)[()]


def dew_point(air_k: ArrayLike, relative_humidity: ArrayLike, over: Phase = "auto") -> FloatArray:
    """Dew point (frost point below freezing, unless over="water") in kelvin; NaN at zero humidity."""
    return dew_point_from_pressure(vapour_pressure(air_k, relative_humidity), over)


def humidity_ratio(vapour_pa: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA) -> FloatArray:
    """Mass of vapour per mass of dry air, kg/kg, from pressures in Pa; NaN where vapour pressure reaches the total pressure."""
    vapour, total = np.asarray(vapour_pa, dtype=np.float64), np.asarray(pressure_pa, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(vapour < total, MOLAR_MASS_RATIO * vapour / (total - vapour), np.nan)[()]


def air_humidity_ratio(
    air_k: ArrayLike, relative_humidity: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Humidity ratio of air from its temperature and relative humidity."""
    return humidity_ratio(vapour_pressure(air_k, relative_humidity), pressure_pa)


def humidity_ratio_from_wet_bulb(
    air_k: ArrayLike, wet_bulb_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Humidity ratio from the psychrometric balance (ASHRAE Fundamentals ch. 1 eq. 33 and 35)."""
    t = np.asarray(air_k, dtype=np.float64) - ZERO_CELSIUS_K
    wet = np.asarray(wet_bulb_k, dtype=np.float64) - ZERO_CELSIUS_K
    saturated = humidity_ratio(saturation_pressure(wet_bulb_k), pressure_pa)
    liquid = ((2501.0 - 2.326 * wet) * saturated - 1.006 * (t - wet)) / (2501.0 + 1.86 * t - 4.186 * wet)
    frozen = ((2830.0 - 0.24 * wet) * saturated - 1.006 * (t - wet)) / (2830.0 + 1.86 * t - 2.1 * wet)
    return np.where(wet >= 0.0, liquid, frozen)[()]


def wet_bulb(
    air_k: ArrayLike, relative_humidity: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Thermodynamic wet bulb in kelvin, solving the psychrometric balance by bisection; arguments broadcast."""
    wanted = air_humidity_ratio(air_k, relative_humidity, pressure_pa)
    high = np.broadcast_to(np.asarray(air_k, dtype=np.float64), np.shape(wanted + np.asarray(air_k))).copy()
    dry = np.asarray(air_k, dtype=np.float64)
    low = np.maximum(high - 60.0, LOWEST_K)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        below = humidity_ratio_from_wet_bulb(dry, middle, pressure_pa) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.where(np.isfinite(wanted), 0.5 * (low + high), np.nan)[()]


def wet_bulb_stull(air_k: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Wet bulb in kelvin by Stull's fit (2011; 101325 Pa, 5..99 %, -20..50 degC, error -1..+0.65 K). Source: stull-2011."""
    t = np.asarray(air_k, dtype=np.float64) - ZERO_CELSIUS_K
    rh = 100.0 * check_humidity(relative_humidity)
    wet = (
        t * np.arctan(0.151977 * np.sqrt(rh + 8.313659))
        + np.arctan(t + rh)
        - np.arctan(rh - 1.676331)
        + 0.00391838 * rh**1.5 * np.arctan(0.023101 * rh)
        - 4.686035
    )
    result: FloatArray = wet + ZERO_CELSIUS_K
    return result


def enthalpy(air_k: ArrayLike, ratio: ArrayLike) -> FloatArray:
    """Specific enthalpy of moist air in J per kg of dry air, zero for dry air and liquid water at 0 degC."""
    t = np.asarray(air_k, dtype=np.float64) - ZERO_CELSIUS_K
    return 1000.0 * (1.006 * t + np.asarray(ratio, dtype=np.float64) * (2501.0 + 1.86 * t))


def surface_relative_humidity(surface_k: ArrayLike, air_k: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Relative humidity (fraction) of room air cooled to a surface; above 1 water condenses there."""
    return vapour_pressure(air_k, relative_humidity) / saturation_pressure(surface_k)


def surface_limit_temperature(air_k: ArrayLike, relative_humidity: ArrayLike, limit: float = 0.8) -> FloatArray:
    """Surface temperature in kelvin below which air at the surface exceeds `limit` relative humidity (1: dew point)."""
    if not 0.0 < limit <= 1.0:
        raise ValueError(f"the surface humidity limit is a fraction above 0 up to 1, got {limit}")
    return dew_point_from_pressure(vapour_pressure(air_k, relative_humidity) / limit)


def pressure_at_altitude(metres: ArrayLike) -> FloatArray:
    """Standard atmosphere pressure in Pa at an altitude (ASHRAE Fundamentals ch. 1 eq. 3)."""
    return STANDARD_PRESSURE_PA * (1.0 - 2.25577e-5 * np.asarray(metres, dtype=np.float64)) ** 5.2559
