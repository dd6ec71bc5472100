"""Air leakage: power law, leakage areas, stack and wind, infiltration models, heat carried by air.

SI: flow m3/s, pressure Pa, area m2, temperatures and differences K, wind m/s.
"""

from __future__ import annotations

from dataclasses import dataclass

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
SHARP_EDGE_DISCHARGE = 0.611
"""Discharge coefficient used with the 10 Pa equivalent leakage area. From memory. Source: cgsb-149-10."""

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

ENHANCED_STACK = {True: (0.069, 0.089, 0.107), False: (0.054, 0.078, 0.098)}
"""AIM-2 Cs with and without flue, by storeys, (Pa/K)^n. Source: ashrae-infiltration."""
ENHANCED_WIND = {
    ("slab", True): (0.142, 0.156, 0.167),
    ("slab", False): (0.156, 0.170, 0.170),
    ("crawl", True): (0.128, 0.142, 0.154),
    ("crawl", False): (0.128, 0.142, 0.151),
}
"""AIM-2 Cw by foundation (slab also means basement), flue and storeys. Source: ashrae-infiltration."""
ENHANCED_SHELTER = {
    1: (1.10, 1.02, 0.86, 0.70, 0.54),
    2: (1.07, 0.98, 0.81, 0.64, 0.47),
    3: (1.06, 0.97, 0.79, 0.61, 0.43),
    None: (1.00, 0.90, 0.70, 0.50, 0.30),
}
"""AIM-2 shelter factor of classes 1..5: by storeys with a flue, and None without. Source: ashrae-infiltration."""
DESIGN_WEIGHTS = {"blast": (0.606, 0.03636, 0.1177), "doe-2": (0.0, 0.0, 0.224)}
"""Constant, per K and per m/s weights of a design infiltration flow. Source: energyplus-infiltration."""


def _check_class(storeys: int, shelter_class: int) -> None:
    if storeys not in (1, 2, 3) or shelter_class not in (1, 2, 3, 4, 5):
        raise ValueError(
            f"tables cover 1 to 3 storeys and shelter classes 1 to 5, not {storeys!r} and {shelter_class!r}"
        )


@dataclass(frozen=True)
class Infiltration:
    """Stack and wind parts and their quadrature sum, m3/s."""

    stack: np.ndarray | float
    wind: np.ndarray | float
    total: np.ndarray | float


def power_law_flow(coefficient: Values, pressure: Values, exponent: Values = 0.65) -> FloatArray:
    """Q = C dP^n, signed with the pressure, m3/s; n 0.5 turbulent to 1 laminar, 0.65 usual.

    Source: modelica-airflow
    """
    dp = np.asarray(pressure, float)
    result: FloatArray = np.sign(dp) * coefficient * np.abs(dp) ** exponent
    return result


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


def air_changes(flow: Values, volume: Values) -> FloatArray:
    """Air changes per hour; flow m3/s, volume m3. Source: common-practice"""
    return np.asarray(flow, float) * 3600.0 / volume


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


def basic_stack_coefficient(height: Values, ceiling_floor_share: Values = 0.5, t_in: Values = 298.0) -> FloatArray:
    """Closed form of Cs, ((1 + R/2)/3)^2 g H / T, in (L/s)2 cm-4 K-1; height m.

    Source: walker-wilson-1998
    """
    shape = ((1.0 + 0.5 * ceiling_floor_share) / 3.0) ** 2
    return shape * STANDARD_GRAVITY * np.asarray(height, float) / t_in * 0.01


def enhanced_infiltration(
    coefficient: Values,
    temperature_difference: Values,
    wind: Values,
    c_stack: Values,
    c_wind: Values,
    shelter: Values,
    exponent: Values = 0.67,
) -> Infiltration:
    """AIM-2: Qs = c Cs dT^n, Qw = c Cw (s v)^(2n), added in quadrature, m3/s.

    coefficient c in m3 s-1 Pa^-n; c_stack, c_wind, shelter from the tables here.
    Source: energyplus-infiltration, walker-wilson-1998
    """
    dt = np.abs(np.asarray(temperature_difference, float))
    stack = coefficient * c_stack * dt**exponent
    gust = coefficient * c_wind * (shelter * np.asarray(wind, float)) ** (2.0 * exponent)
    return Infiltration(stack, gust, np.hypot(stack, gust))


def enhanced_coefficients(
    storeys: int, shelter_class: int, flue: bool = False, foundation: str = "slab"
) -> tuple[float, float, float]:
    """(Cs, Cw, shelter factor) of AIM-2 from the tables; foundation "slab" or "crawl".

    Source: ashrae-infiltration
    """
    _check_class(storeys, shelter_class)
    return (
        ENHANCED_STACK[flue][storeys - 1],
        ENHANCED_WIND[(foundation, flue)][storeys - 1],
        ENHANCED_SHELTER[storeys if flue else None][shelter_class - 1],
    )


def enhanced_stack_coefficient(
    height: Values,
    exponent: Values = 0.67,
    share: Values = 0.5,
    skew: Values = 0.0,
    air_density: Values = 1.2,
    t_in: Values = 296.0,
) -> Values:
    """AIM-2 Cs without flue: fs (rho g H / T)^n. share R = ceiling + floor, skew X = ceiling - floor.

    Matches the table for one storey only; two and three storeys use other leak shares there.
    Source: walker-wilson-1998
    """
    m = skew**2 / (2.0 - share)
    shape = (1.0 + exponent * share) / (exponent + 1.0)
    shape = shape * (0.5 - 0.5 * m**1.2) ** (exponent + 1.0)
    return shape * (air_density * STANDARD_GRAVITY * height / t_in) ** exponent


def enhanced_wind_coefficient(
    exponent: Values = 0.67,
    share: Values = 0.5,
    skew: Values = 0.0,
    air_density: Values = 1.2,
    foundation: str = "slab",
) -> Values:
    """AIM-2 Cw without flue: fw (rho/2)^n, for "slab" (also basement) or "crawl".

    Source: walker-wilson-1998
    """
    if foundation == "crawl":
        critical = (1.0 - share) / 5.0
        across = 1.0 - (((skew - critical) / (2.0 - share)) ** 2) ** 0.75
        shape = across * (1.0 - share * (exponent / 2.0 + 0.2))
    else:
        shape = 1.0 - ((skew + share) / 2.0) ** 1.5
    return 0.19 * (2.0 - exponent) * shape * (air_density / 2.0) ** exponent


def sensible_air_heat(
    flow: Values,
    temperature_difference: Values,
    air_density: Values = AIR_DENSITY,
    heat_capacity: Values = HEAT_CAPACITY_DRY_AIR,
) -> FloatArray:
    """rho cp Q dT, W: about 1.2 kJ per m3 and K at sea level. Source: ideal-gas"""
    return air_density * heat_capacity * np.asarray(flow, float) * temperature_difference


def opening_stack_flow(area: Values, height: Values, temperature_difference: Values, t_zone: Values) -> FloatArray:
    """CD A sqrt(2 g dH |dT| / Tz), CD = 0.40 + 0.0045 |dT|, m3/s; height lower opening to neutral, m.

    Source: energyplus-infiltration
    """
    dt = np.abs(np.asarray(temperature_difference, float))
    discharge = 0.40 + 0.0045 * dt
    result: FloatArray = discharge * area * np.sqrt(2.0 * STANDARD_GRAVITY * height * dt / t_zone)
    return result


def opening_wind_flow(area: Values, wind: Values, effectiveness: Values = 0.55) -> FloatArray:
    """Cw A v, m3/s; effectiveness 0.5..0.6 for wind square on, 0.25..0.35 diagonal.

    Source: energyplus-infiltration
    """
    return effectiveness * area * np.asarray(wind, float)


def design_flow_factor(temperature_difference: Values, wind: Values, weights: str = "blast") -> FloatArray:
    """Multiplier of a design infiltration flow, a + b |dT| + c v. Source: energyplus-infiltration"""
    a, b, c = DESIGN_WEIGHTS[weights]
    result: FloatArray = a + b * np.abs(np.asarray(temperature_difference, float)) + c * np.asarray(wind, float)
    return result
