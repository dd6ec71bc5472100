"""Temperature factor, surface humidity, and the limits for condensation and mould."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .tables import load_table

MOULD_HUMIDITY = 0.80
"""Surface relative humidity at which mould starts. Source: iso-13788."""


def temperature_factor(t_surface: Values, t_in: Values, t_out: Values) -> FloatArray:
    """fRsi = (Tsi - Te) / (Ti - Te); 1 is perfect. Temperatures K or degC alike.

    >>> round(float(temperature_factor(13.4, 20.2, 1.5)), 4)
    0.6364

    Source: irish-part-l
    """
    t_out = np.asarray(t_out, float)
    return (np.asarray(t_surface, float) - t_out) / (np.asarray(t_in, float) - t_out)


def surface_from_factor(factor: Values, t_in: Values, t_out: Values) -> FloatArray:
    """Surface temperature that belongs to a temperature factor. Source: irish-part-l"""
    t_out = np.asarray(t_out, float)
    return t_out + np.asarray(factor, float) * (np.asarray(t_in, float) - t_out)


def plane_factor(u: Values, rsi: Values) -> FloatArray:
    """1 - U Rsi of a plain element, with U taken as given (whatever Rsi it was made with).

    Source: iso-13788
    """
    return 1.0 - np.asarray(u, float) * rsi


def plane_factor_in_series(u: Values, rsi: Values, rsi_of_u: Values = 0.13) -> FloatArray:
    """1 - Rsi/RT where RT is rebuilt with the given Rsi in place of the one inside U.

    Differs from `plane_factor` when the two Rsi differ; say which one a report uses.
    Source: iso-13788
    """
    total = 1.0 / np.asarray(u, float) - rsi_of_u + rsi
    return 1.0 - rsi / total


def saturation_pressure_iso(t_k: Values) -> FloatArray:
    """Saturation pressure in the form of ISO 13788 (ice below 0 degC), Pa. From memory.

    Within 0.15 % of Hyland-Wexler from -10 to 20 degC. Source: iso-13788
    """
    t = np.asarray(t_k, float) - 273.15
    water = 610.5 * np.exp(17.269 * t / (237.3 + t))
    ice = 610.5 * np.exp(21.875 * t / (265.5 + t))
    return np.where(t >= 0.0, water, ice)[()]


def minimum_factor(t_air: Values, humidity: Values, t_out: Values, surface_limit: float = MOULD_HUMIDITY) -> FloatArray:
    """Least temperature factor that keeps the surface under a humidity limit.

    t_air, t_out K; humidity and surface_limit 0..1 (0.8 mould, 1.0 dew).
    Source: iso-13788
    """
    from .psychrometrics import surface_limit_temperature

    critical = surface_limit_temperature(t_air, humidity, surface_limit)
    return temperature_factor(critical, t_air, t_out)


def indoor_vapour_pressure(t_out: Values, humidity_out: Values, excess: Values, margin: Values = 1.1) -> FloatArray:
    """pi = pe + margin * excess, Pa: the indoor pressure of a humidity class. From memory.

    excess: the class's vapour pressure excess, Pa. Source: iso-13788
    """
    return humidity_out * saturation_pressure_iso(t_out) + margin * np.asarray(excess, float)


def factor_limits() -> Mapping[str, Mapping[str, Any]]:
    """The published fRsi limits by name: each {limit, use, basis, mark, source}.

    Source: irish-part-l, din-4108-2, bre-ip-1-06
    """
    result: Mapping[str, Mapping[str, Any]] = load_table("surface_limits")["temperature_factor"]
    return result
