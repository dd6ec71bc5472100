"""Air leakage: power law, leakage areas, stack and wind, the basic infiltration model, heat carried by air.

SI: flow m3/s, pressure Pa, area m2, temperatures and differences K, wind m/s.
"""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .air_properties import (
    HEAT_CAPACITY_DRY_AIR,
    STANDARD_GRAVITY,
    STANDARD_PRESSURE,
    density,
)

AIR_DENSITY = 1.2041
"""kg m-3 at 20 degC and sea level."""

BASIC_STACK = {1: 0.000145, 2: 0.000290, 3: 0.000435}
"""Cs by storeys, (L/s)2 cm-4 K-1. Source: ashrae-infiltration."""
BASIC_WIND = {
    1: (0.000319, 0.000420, 0.000494),
    2: (0.000246, 0.000325, 0.000382),
    3: (0.000174, 0.000231, 0.000271),
    4: (0.000104, 0.000137, 0.000161),
    5: (0.000032, 0.000042, 0.000049),
}
"""Cw by shelter class (1 open .. 5 adjoining buildings) and storeys 1..3, (L/s)2 cm-4 (m/s)-2.
Source: ashrae-infiltration."""


def _check_class(storeys: int, shelter_class: int) -> None:
    if storeys not in (1, 2, 3) or shelter_class not in (1, 2, 3, 4, 5):
        raise ValueError(
            f"tables cover 1 to 3 storeys and shelter classes 1 to 5, not {storeys!r} and {shelter_class!r}"
        )


def power_law_coefficient(flow: Values, pressure: Values, exponent: Values = 0.65) -> FloatArray:
    """C of Q = C dP^n from one measured flow, m3 s-1 Pa^-n. Source: modelica-airflow"""
    return np.asarray(flow, float) / np.asarray(pressure, float) ** exponent


def orifice_flow(
    area: Values, pressure: Values, discharge: Values = 0.61, air_density: Values = AIR_DENSITY
) -> FloatArray:
    """Q = Cd A sqrt(2 |dP| / rho), signed with the pressure, m3/s. Source: modelica-airflow"""
    dp = np.asarray(pressure, float)
    result: FloatArray = np.sign(dp) * discharge * area * np.sqrt(2.0 * np.abs(dp) / air_density)
    return result


def leakage_area(
    coefficient: Values,
    exponent: Values = 0.65,
    reference_pressure: Values = 4.0,
    discharge: Values = 1.0,
    air_density: Values = AIR_DENSITY,
) -> FloatArray:
    """Area of the orifice that passes the same flow at the reference pressure, m2.

    Effective leakage area: 4 Pa and discharge 1. Equivalent leakage area: 10 Pa and 0.611.
    Source: modelica-airflow, cgsb-149-10
    """
    flow_speed = discharge * np.sqrt(2.0 * reference_pressure / air_density)
    result: FloatArray = np.asarray(coefficient, float) * reference_pressure**exponent / flow_speed
    return result


def stack_pressure(t_in: Values, t_out: Values, height: Values, pressure: Values = STANDARD_PRESSURE) -> FloatArray:
    """(rho_o - rho_i) g H, Pa: about 0.04 Pa per metre and kelvin; positive when warm inside.

    Source: ashrae-infiltration
    """
    return (density(t_out, pressure) - density(t_in, pressure)) * STANDARD_GRAVITY * height


def wind_pressure(wind: Values, pressure_coefficient: Values = 1.0, air_density: Values = AIR_DENSITY) -> FloatArray:
    """Cp rho v2 / 2, Pa. Source: ashrae-infiltration"""
    return 0.5 * pressure_coefficient * air_density * np.asarray(wind, float) ** 2


def basic_infiltration(
    area: Values, temperature_difference: Values, wind: Values, storeys: int = 1, shelter_class: int = 3
) -> FloatArray:
    """Sherman-Grimsrud flow (A[cm2]/1000) sqrt(Cs |dT| + Cw v2), m3/s.

    area: effective leakage area at 4 Pa, m2; storeys 1..3; shelter_class 1 open .. 5 adjoining.

    >>> round(float(basic_infiltration(0.05, 20.0, 4.0, 1, 3)), 6)
    0.037696

    Source: energyplus-infiltration, ashrae-infiltration
    """
    _check_class(storeys, shelter_class)
    stack = BASIC_STACK[storeys] * np.abs(np.asarray(temperature_difference, float))
    gust = BASIC_WIND[shelter_class][storeys - 1] * np.asarray(wind, float) ** 2
    result: FloatArray = np.asarray(area, float) * 10.0 * np.sqrt(stack + gust)
    return result


def sensible_air_heat(
    flow: Values,
    temperature_difference: Values,
    air_density: Values = AIR_DENSITY,
    heat_capacity: Values = HEAT_CAPACITY_DRY_AIR,
) -> FloatArray:
    """rho cp Q dT, W: about 1.2 kJ per m3 and K at sea level. Source: ideal-gas"""
    return air_density * heat_capacity * np.asarray(flow, float) * temperature_difference
