"""Heat in the ground: damping, lag and how long a buried source takes to show.

SI: depth m, time s, diffusivity m2/s. Real soils differ by 40 % and more with density and moisture.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .tables import load_table

DAY = 86400.0


@dataclass(frozen=True)
class Soil:
    """Volumetric heat capacity J m-3 K-1, conductivity W m-1 K-1, diffusivity m2/s as tabulated."""

    name: str
    heat_capacity: float
    conductivity: float
    diffusivity: float
    mark: str
    source: str


def soil(name: str) -> Soil:
    """A row of the soil table; KeyError names the known ones. Source: de-vries-1963"""
    table = load_table("soil")
    if name not in table["soils"]:
        raise KeyError(f"no soil {name!r}; soils: {', '.join(sorted(table['soils']))}")
    row = table["soils"][name]
    return Soil(
        name,
        row["heat_capacity"] * 1e6,
        row["conductivity"],
        row["diffusivity"] * 1e-6,
        table["mark"],
        table["source"],
    )


def damping_depth(diffusivity: Values, period: Values = DAY) -> FloatArray:
    """sqrt(kappa P / pi), m: where a periodic surface swing has fallen to 1/e. Source: carslaw-jaeger"""
    return np.sqrt(np.asarray(diffusivity, float) * period / np.pi)


def phase_lag(depth: Values, diffusivity: Values, period: Values = DAY) -> FloatArray:
    """z / d * P / (2 pi), s: delay of a periodic swing at a depth. Source: carslaw-jaeger"""
    return np.asarray(depth, float) / damping_depth(diffusivity, period) * period / (2.0 * np.pi)


def swing_ratio(depth: Values, diffusivity: Values, period: Values = DAY) -> FloatArray:
    """exp(-z / d): share of the surface swing left at a depth. Source: carslaw-jaeger"""
    return np.exp(-np.asarray(depth, float) / damping_depth(diffusivity, period))


def effusivity(conductivity: Values, heat_capacity: Values) -> FloatArray:
    """sqrt(lambda C), J m-2 K-1 s-1/2. Source: carslaw-jaeger"""
    return np.sqrt(np.asarray(conductivity, float) * heat_capacity)


def diffusion_length(diffusivity: Values, time: Values) -> FloatArray:
    """sqrt(kappa t), m. Source: carslaw-jaeger"""
    return np.sqrt(np.asarray(diffusivity, float) * time)


def step_response(depth: Values, time: Values, diffusivity: Values) -> FloatArray:
    """erfc(z / (2 sqrt(kappa t))): share of a step that has arrived at distance z after t.

    A plane source in a uniform medium: a pipe, and a surface losing heat to air, give much less;
    an insulated surface could early on reach up to twice this. Zero for t = 0.
    Source: carslaw-jaeger
    """
    from scipy.special import erfc

    with np.errstate(divide="ignore"):
        reach = np.asarray(depth, float) / (2.0 * diffusion_length(diffusivity, time))
    result: FloatArray = erfc(reach)
    return result


def time_to_surface(depth: Values, diffusivity: Values) -> FloatArray:
    """z2 / kappa, s: scale of the time for a buried change to reach the surface.

    Source: carslaw-jaeger
    """
    return np.asarray(depth, float) ** 2 / diffusivity
