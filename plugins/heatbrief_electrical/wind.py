"""Wind cools what it blows on: a rise brought to 1 m/s by a table from memory, with bounds from physics."""

from __future__ import annotations

import numpy as np
from heatbrief.api import propagated
from heatbrief.arrays import FloatArray, Values
from heatbrief.model import Quantity
from heatbrief.physics import electrical
from heatbrief.physics.air_properties import conductivity, density, prandtl, viscosity

MOST_M_S = 4.0
"""Above this, outdoors, no class is given (common practice; 4 to 5 m/s)."""
FILM_K = 320.0
RADIATION = 5.5
DIAMETERS_M = (0.006, 0.012, 0.05)
"""Cables and lugs for which the physics is worked out."""


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


def wind_factor(wind: float | None) -> Quantity | None:
    """Multiplier of a rise or difference to its value at 1 m/s, with bounds from table and physics; None outside 1 to 8
    m/s.

    The value is a table from memory (source wind-table), the bounds hold what forced convection gives for 6 to 50 mm.
    """
    if wind is None or not 1.0 <= wind <= 8.0:
        return None
    table = float(electrical.wind_factor(wind))
    found = [table, *(float(physics_factor(wind, diameter)) for diameter in DIAMETERS_M)]
    return Quantity.between(
        min(found), max(found), "1", table, "table from memory; bounds from forced convection on 6 to 50 mm"
    )


def at_one_metre_per_second(rise: Quantity, wind: float | None) -> Quantity | None:
    """A rise or difference [K] brought to 1 m/s of wind; None where the table does not reach."""
    factor = wind_factor(wind)
    return (
        None
        if factor is None
        else propagated(
            lambda rise, factor: rise * factor,
            "K",
            "brought to 1 m/s of wind by a table from memory",
            rise=rise,
            factor=factor,
        )
    )
