"""Clear-sky emissivity and temperature, the sky as an imager sees it, view factors and mean radiant temperature.

A broadband sky (heat loss) and the 8-14 um sky (reflection in a picture) differ by tens of kelvin: use the right one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

from .planck import ZERO_CELSIUS_K, Band, exitance

DEFAULT_MODEL = "berdahl-martin"
_Model = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]


def _hundredths(dew: FloatArray) -> FloatArray:
    return (dew - ZERO_CELSIUS_K) / 100.0


# Arguments: air temperature K, dew point K, vapour pressure hPa.
_MODELS: dict[str, _Model] = {
    "swinbank": lambda t, dew, e: (0.0552 * t**1.5 / t) ** 4,  # Source: sky-swinbank
    "swinbank-flux": lambda t, dew, e: 5.31e-13 * t**6 / exitance(t),
    "whillier": lambda t, dew, e: ((t - 6.0) / t) ** 4,  # Source: sky-whillier
    "fuentes": lambda t, dew, e: ((0.037536 * t**1.5 + 0.32 * t) / t) ** 4,  # Source: sky-fuentes
    "brunt": lambda t, dew, e: 0.52 + 0.065 * np.sqrt(e),  # Source: sky-brunt
    "clark-allen": lambda t, dew, e: 0.787 + 0.764 * np.log(dew / 273.0),  # Source: sky-clark-allen
    "idso": lambda t, dew, e: 0.70 + 5.95e-5 * e * np.exp(1500.0 / t),
    "brutsaert": lambda t, dew, e: 1.24 * (e / t) ** (1.0 / 7.0),  # Source: sky-brutsaert
    "berdahl-fromberg-night": lambda t, dew, e: 0.741 + 0.62 * _hundredths(dew),  # Source: sky-berdahl-fromberg
    "berdahl-fromberg-day": lambda t, dew, e: 0.727 + 0.60 * _hundredths(dew),
    "berdahl-martin": lambda t, dew, e: 0.711 + 0.56 * _hundredths(dew) + 0.73 * _hundredths(dew) ** 2,
    "berdahl-martin-recalibrated": lambda t, dew, e: 0.758 + 0.521 * _hundredths(dew) + 0.625 * _hundredths(dew) ** 2,
    "brunt-recalibrated": lambda t, dew, e: 0.618 + 0.056 * np.sqrt(e),  # Source: sky-recalibrated
    "idso-recalibrated": lambda t, dew, e: 0.685 + 3.2e-5 * e * np.exp(1699.0 / t),
}
MODELS = MappingProxyType(_MODELS)


def sky_emissivity(
    air_k: ArrayLike, dew_point_k: ArrayLike, vapour_pa: ArrayLike, model: str = DEFAULT_MODEL
) -> FloatArray:
    """Broadband emissivity of a clear sky by one of `MODELS`, limited to 0..1; KeyError names an unknown model."""
    if model not in MODELS:
        raise KeyError(f"no sky model {model!r}; known: {', '.join(sorted(MODELS))}")
    t, dew = np.asarray(air_k, dtype=np.float64), np.asarray(dew_point_k, dtype=np.float64)
    value = MODELS[model](t, dew, np.asarray(vapour_pa, dtype=np.float64) / 100.0)
    return np.clip(value, 0.0, 1.0)[()]


def diurnal_correction(hour: ArrayLike, pressure_pa: ArrayLike = 100000.0) -> FloatArray:
    """What Berdahl & Martin add to clear-sky emissivity for the hour of the day (solar time) and the air pressure."""
    turn = np.cos(2.0 * math.pi * np.asarray(hour, dtype=np.float64) / 24.0)
    return 0.013 * turn + 0.00012 * (np.asarray(pressure_pa, dtype=np.float64) / 100.0 - 1000.0)


def cloud_factor_clark_allen(cover_tenths: ArrayLike) -> FloatArray:
    """Factor on clear-sky emissivity for opaque cloud cover in tenths (0..10)."""
    n = _within("cloud cover in tenths", cover_tenths, 10.0)
    result: FloatArray = 1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3
    return result


def cloudy_emissivity(clear: ArrayLike, cover: ArrayLike, cloud: float = 0.784) -> FloatArray:
    """Emissivity under clouds: clear + cloud (1 - clear) cover, cover 0..1. Programs use 0.784 to 0.9 for `cloud`."""
    share = _within("cloud cover", cover, 1.0)
    eps = np.asarray(clear, dtype=np.float64)
    return eps + cloud * (1.0 - eps) * share


def _within(name: str, value: ArrayLike, top: float) -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    if not np.all((array >= 0.0) & (array <= top)):
        raise ValueError(f"{name} must be 0 to {top:g}")
    return array


def sky_temperature(air_k: ArrayLike, emissivity: ArrayLike) -> FloatArray:
    """Temperature in kelvin of the black sky that sends down as much as a sky of this emissivity at air temperature."""
    return np.asarray(air_k, dtype=np.float64) * np.asarray(emissivity, dtype=np.float64) ** 0.25


def sky_irradiance(air_k: ArrayLike, emissivity: ArrayLike) -> FloatArray:
    """Long-wave irradiance of a horizontal surface under the whole sky, W m-2."""
    return np.asarray(emissivity, dtype=np.float64) * exitance(air_k)


def band_sky_emissivity(air_k: ArrayLike, vapour_pa: ArrayLike) -> FloatArray:
    """Clear-sky emissivity in 8-14 um (Idso 1981, `sky-idso`), hemispherical; within about 0.05."""
    t = np.asarray(air_k, dtype=np.float64)
    e = np.asarray(vapour_pa, dtype=np.float64) / 100.0
    return np.minimum(0.24 + 2.98e-8 * e**2 * np.exp(3000.0 / t), 1.0)[()]


def band_sky_temperature(band: Band, air_k: ArrayLike, vapour_pa: ArrayLike) -> FloatArray:
    """Apparent temperature in kelvin of a clear sky to a long-wave imager, for the reflected part of a picture."""
    return band.temperature(band_sky_emissivity(air_k, vapour_pa) * band.signal(np.asarray(air_k, dtype=np.float64)))


def sky_view_factor(tilt_deg: ArrayLike) -> FloatArray:
    """Share of the hemisphere over a surface that is sky; tilt 0 looks up, 90 is a wall, 180 looks down.

    0..1, shape of the tilt [deg]; ValueError outside 0 to 180.
    """
    return 0.5 * (1.0 + np.cos(np.radians(_within("tilt in degrees", tilt_deg, 180.0))))


def mean_radiant_temperature(temperatures_k: ArrayLike, view_factors: ArrayLike) -> FloatArray:
    """Fourth-power mean in kelvin over the last axis; view factors must add up to 1 (ValueError otherwise)."""
    factors = np.asarray(view_factors, dtype=np.float64)
    if np.any(factors < 0.0) or not np.allclose(factors.sum(axis=-1), 1.0, atol=1e-6):
        raise ValueError("view factors must not be negative and must add up to 1")
    result: FloatArray = np.sum(factors * np.asarray(temperatures_k, dtype=np.float64) ** 4, axis=-1) ** 0.25
    return result


def surroundings_temperature(tilt_deg: ArrayLike, sky_k: ArrayLike, ground_k: ArrayLike) -> FloatArray:
    """Mean radiant temperature in kelvin of what a tilted outdoor surface faces: sky above, ground below."""
    share = sky_view_factor(tilt_deg)
    sky, ground = np.asarray(sky_k, dtype=np.float64), np.asarray(ground_k, dtype=np.float64)
    return (share * sky**4 + (1.0 - share) * ground**4) ** 0.25


def globe_radiant_temperature(
    globe_k: ArrayLike, air_k: ArrayLike, air_speed_m_s: float, *, diameter_m: float = 0.15, emissivity: float = 0.95
) -> FloatArray:
    """Mean radiant temperature in kelvin from a black globe thermometer, forced convection (ISO 7726, `iso-7726`)."""
    globe, air = np.asarray(globe_k, dtype=np.float64), np.asarray(air_k, dtype=np.float64)
    gain = 1.1e8 * air_speed_m_s**0.6 / (emissivity * diameter_m**0.4)
    fourth = globe**4 + gain * (globe - air)
    return np.where(fourth > 0.0, np.maximum(fourth, 0.0) ** 0.25, np.nan)[()]
