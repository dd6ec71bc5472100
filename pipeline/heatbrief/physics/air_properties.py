"""Properties of dry air near room conditions, and the groups built from them."""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values

STEFAN_BOLTZMANN = 5.670374419e-8
"""W m-2 K-4. Source: codata-2018."""
STANDARD_GRAVITY = 9.80665
"""m s-2. Source: codata-2018."""
STANDARD_PRESSURE = 101325.0
"""Pa."""
GAS_CONSTANT_DRY_AIR = 287.055
"""J kg-1 K-1."""
HEAT_CAPACITY_DRY_AIR = 1006.0
"""J kg-1 K-1, within 0.2 % from -40 to 80 degC."""


def density(t_air: Values, pressure: Values = STANDARD_PRESSURE) -> FloatArray:
    """Density of dry air as an ideal gas, kg m-3.

    t_air: K; pressure: Pa. Within 0.1 % from 230 to 400 K near sea level.

    >>> round(float(density(293.15)), 4)
    1.2041

    Source: ideal-gas
    """
    return pressure / (GAS_CONSTANT_DRY_AIR * np.asarray(t_air, float))


def viscosity(t_air: Values) -> FloatArray:
    """Dynamic viscosity of air by Sutherland's law, Pa s; t_air in K, 230 to 370 K (0.4 %).

    Source: sutherland
    """
    t = np.asarray(t_air, float)
    return 1.7218e-5 * (t / 273.15) ** 1.5 * (273.15 + 110.4) / (t + 110.4)


def conductivity(t_air: Values) -> FloatArray:
    """Thermal conductivity of air, Sutherland form, W m-1 K-1; t_air in K, 230 to 370 K (0.3 %).

    Source: sutherland
    """
    t = np.asarray(t_air, float)
    return 0.02436 * (t / 273.15) ** 1.5 * (273.15 + 160.0) / (t + 160.0)


def prandtl(t_air: Values) -> FloatArray:
    """Prandtl number of air, mu cp / k. Source: sutherland"""
    return viscosity(t_air) * HEAT_CAPACITY_DRY_AIR / conductivity(t_air)


def volumetric_heat_capacity(t_air: Values, pressure: Values = STANDARD_PRESSURE) -> FloatArray:
    """Density times heat capacity, J m-3 K-1 (about 1200 at room temperature).

    Source: ideal-gas
    """
    return density(t_air, pressure) * HEAT_CAPACITY_DRY_AIR


def rayleigh(t_surface: Values, t_air: Values, length: Values, pressure: Values = STANDARD_PRESSURE) -> FloatArray:
    """Rayleigh number of a surface in air, properties at the film temperature.

    g beta |Ts-Ta| L^3 Pr / nu^2 with beta = 1/Tfilm. Temperatures K, length m.
    Source: churchill-chu-1975
    """
    t_surface, t_air = np.asarray(t_surface, float), np.asarray(t_air, float)
    film = 0.5 * (t_surface + t_air)
    nu = viscosity(film) / density(film, pressure)
    grashof = STANDARD_GRAVITY * np.abs(t_surface - t_air) * length**3 / (film * nu**2)
    return grashof * prandtl(film)
