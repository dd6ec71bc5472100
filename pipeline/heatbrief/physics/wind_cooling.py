"""How much wind cools a warm part: forced convection on a cylinder with radiation beside it, and never less than still air."""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values
from heatbrief.physics.air_properties import conductivity, density, prandtl, viscosity

FILM_K = 320.0
RADIATION = 5.5
"""Heat given off by radiation [W/m2/K]."""
STILL = 5.0
"""Heat given off to still air [W/m2/K]; common practice, 3 to 10 for small parts."""
DIAMETERS_M = (0.006, 0.012, 0.05)
"""Cables and lugs for which the physics is worked out."""
WIND_SPREAD = 0.5
"""Wind at the part differs from the wind that was stated by this much [m/s] (common practice)."""


def forced_coefficient(wind: Values, diameter: Values = 0.012) -> FloatArray:
    """Churchill and Bernstein, cylinder across the wind, W m-2 K-1; air at 320 K, wind m/s, diameter m.

    Source: incropera (the correlation as printed in handbooks); agrees with a reference library (tests).
    """
    reynolds = density(FILM_K) * np.asarray(wind, float) * diameter / viscosity(FILM_K)
    number = prandtl(FILM_K)
    first = 0.62 * np.sqrt(reynolds) * number ** (1 / 3) / (1 + (0.4 / number) ** (2 / 3)) ** 0.25
    nusselt = 0.3 + first * (1 + (reynolds / 282000.0) ** 0.625) ** 0.8
    result: FloatArray = nusselt * conductivity(FILM_K) / diameter
    return result


def physics_factor(wind: Values, diameter: Values = 0.012) -> FloatArray:
    """Rise at 1 m/s over the rise at `wind`, forced convection and 5.5 W/m2K of radiation. [computed: K7]"""
    return (forced_coefficient(wind, diameter) + RADIATION) / (forced_coefficient(1.0, diameter) + RADIATION)


def rise_ratio(wind: float, other: float, spread: float = WIND_SPREAD) -> tuple[float, float, float]:
    """(low, value, high) of the rise at `other` over the rise at `wind`, both m/s, for one part of 6 to 50 mm.

    Forced convection as in `physics_factor`, still air below it [computed]; `spread` [m/s] is how far either wind may be
    from what was stated.
    """

    def given_off(speed: float, diameter: float) -> float:
        return RADIATION + max(STILL, float(forced_coefficient(max(speed, 1e-3), diameter)))

    def ratio(one: float, two: float, diameter: float) -> float:
        return given_off(one, diameter) / given_off(two, diameter)

    apart = spread / 2**0.5  # two independent winds
    ends = [ratio(wind - apart, other + apart, one) for one in DIAMETERS_M]
    ends += [ratio(wind + apart, other - apart, one) for one in DIAMETERS_M]
    return min(ends), ratio(wind, other, 0.012), max(ends)
