"""Thermal resistance and transmittance: from layers, from inside and outside pictures, and with voids.

Temperatures are kelvin (only differences matter unless a power of T is named), R in m2 K W-1,
U in W m-2 K-1, heat flux in W m-2 positive from inside to outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import cast

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Values

from .air_properties import STEFAN_BOLTZMANN
from .surface_coefficients import ISO_RSE, ISO_RSI, churchill_chu_vertical

_MOST_PATHS = 4096
AIR_GAP_CORRECTION = {0: 0.0, 1: 0.01, 2: 0.04}
"""Correction dU'' by level of air gaps in the insulation, W m-2 K-1. From memory. Source: iso-6946."""


@dataclass(frozen=True)
class BridgedResistance:
    """Result of the combined method: limits and mean of R (m2 K W-1), U and the largest error."""

    r_upper: float
    r_lower: float
    r_total: float
    u: float
    max_relative_error: float


def u_value(resistances: ArrayLike, rsi: float = ISO_RSI["horizontal"], rse: float = ISO_RSE) -> float:
    """1 / (Rsi + sum R + Rse) of plain layers, W m-2 K-1. Source: iso-6946"""
    return 1.0 / (rsi + float(np.sum(resistances)) + rse)


def parallel_path_resistance(fractions: ArrayLike, resistances: ArrayLike) -> float:
    """Resistance of paths side by side, each with its whole R: 1 / sum(f/R).

    fractions must sum to 1 (error 1e-6). Also the effective R of a surface with a void.
    Source: ashrae-parallel
    """
    f, r = np.asarray(fractions, float), np.asarray(resistances, float)
    if abs(f.sum() - 1.0) > 1e-6 or np.any(f < 0.0) or np.any(r <= 0.0):
        raise ValueError("fractions must be >= 0 and sum to 1, and every resistance be above 0")
    return 1.0 / float(np.sum(f / r))


def isothermal_planes_resistance(series: ArrayLike, fractions: ArrayLike, resistances: ArrayLike) -> float:
    """R of layers in series with one layer whose parts are paralleled by themselves.

    series: summed R of the whole layers (films included). Source: ashrae-parallel
    """
    return float(np.sum(series)) + parallel_path_resistance(fractions, resistances)


def combined_method(
    layers: Sequence[float | Sequence[Sequence[float]]], rsi: float = ISO_RSI["horizontal"], rse: float = ISO_RSE
) -> BridgedResistance:
    """Total resistance of layers, some bridged, as the mean of upper and lower limits.

    layers: each a resistance, or a list of [fraction, resistance] pairs. Several bridged layers
    are taken as independent (every combination is a path). ValueError for shares that do not sum
    to 1, or for more than 4096 paths.

    >>> wall = [0.132, 0.180, 0.069, [[0.85, 3.5], [0.15, 3.5 / 3]], 0.060]
    >>> round(combined_method(wall).u, 3)
    0.297

    Source: iso-6946, scottish-6b
    """
    parts = [
        [(1.0, float(cast(float, layer)))] if np.ndim(layer) == 0 else cast(Sequence[Sequence[float]], layer)
        for layer in layers
    ]
    films = rsi + rse
    if prod(len(part) for part in parts) > _MOST_PATHS:
        raise ValueError(f"more than {_MOST_PATHS} paths: merge the bridged layers")
    paths = [(prod(f for f, _ in path), films + sum(r for _, r in path)) for path in product(*parts)]
    upper = parallel_path_resistance(*zip(*paths, strict=True))
    lower = films + sum(parallel_path_resistance(*zip(*part, strict=True)) for part in parts)
    total = 0.5 * (upper + lower)
    return BridgedResistance(upper, lower, total, 1.0 / total, (upper - lower) / (2.0 * total))


def air_gap_correction(level: int, r_layer: Values, r_total: Values) -> FloatArray:
    """dU = dU'' (R1/RT)^2, W m-2 K-1; level 0, 1 or 2. From memory. Source: iso-6946"""
    return AIR_GAP_CORRECTION[level] * (np.asarray(r_layer, float) / r_total) ** 2


# --- from a picture -----------------------------------------------------------------------


def heat_flux_inside(
    t_surface: Values, t_air_in: Values, t_reflected: Values, emissivity: Values, h_convection: Values
) -> FloatArray:
    """Heat flux into an inside surface, exact T^4 radiation, W m-2 (positive: outwards).

    eps sigma (Trefl^4 - Ts^4) + hc (Ti - Ts); temperatures K. Source: tejedor-2017
    """
    ts, tr = np.asarray(t_surface, float), np.asarray(t_reflected, float)
    radiation = emissivity * STEFAN_BOLTZMANN * (tr**4 - ts**4)
    result: FloatArray = radiation + h_convection * (np.asarray(t_air_in, float) - ts)
    return result


def u_inside_exact(
    t_surface: Values,
    t_air_in: Values,
    t_air_out: Values,
    t_reflected: Values,
    emissivity: Values,
    h_convection: Values,
) -> FloatArray:
    """U from inside with exact radiation, W m-2 K-1. Source: tejedor-2017"""
    flux = heat_flux_inside(t_surface, t_air_in, t_reflected, emissivity, h_convection)
    return flux / (np.asarray(t_air_in, float) - t_air_out)


def u_inside_madding(
    t_surface: Values,
    t_air_in: Values,
    t_air_out: Values,
    t_reflected: Values,
    emissivity: Values,
    h_convection: Values,
) -> FloatArray:
    """U from inside with 4 eps sigma Tm^3, Tm the mean of surface and reflected. From memory.

    Source: madding-2008
    """
    ts, tr = np.asarray(t_surface, float), np.asarray(t_reflected, float)
    hr = 4.0 * emissivity * STEFAN_BOLTZMANN * (0.5 * (ts + tr)) ** 3
    flux = hr * (ts - tr) + h_convection * (ts - t_air_in)
    result: FloatArray = flux / (np.asarray(t_air_out, float) - t_air_in)
    return result


def u_inside_fokaides(
    t_surface: Values,
    t_air_in: Values,
    t_air_out: Values,
    t_reflected: Values,
    emissivity: Values,
    h_convection: Values = 2.5,
) -> FloatArray:
    """U from inside with 4 eps sigma Ts^3 and a conventional hc. From memory.

    Source: fokaides-2011
    """
    ts = np.asarray(t_surface, float)
    hr = 4.0 * emissivity * STEFAN_BOLTZMANN * ts**3
    flux = hr * (ts - t_reflected) + h_convection * (ts - t_air_in)
    return flux / (np.asarray(t_air_out, float) - t_air_in)


def u_inside_tejedor(
    t_surface: Values, t_air_in: Values, t_air_out: Values, t_reflected: Values, emissivity: Values, height: Values
) -> FloatArray:
    """U from inside with exact radiation and the Churchill-Chu wall coefficient, W m-2 K-1.

    height: of the wall, m. Source: tejedor-2017
    """
    h = churchill_chu_vertical(t_surface, t_air_in, height)
    return u_inside_exact(t_surface, t_air_in, t_air_out, t_reflected, emissivity, h)


def u_inside_convention(
    t_surface: Values, t_air_in: Values, t_air_out: Values, rsi: Values = ISO_RSI["horizontal"]
) -> FloatArray:
    """(Ti - Ts) / (Rsi (Ti - To)), W m-2 K-1: the conventional film on both parts.

    Source: iso-6946
    """
    ti = np.asarray(t_air_in, float)
    return (ti - t_surface) / (rsi * (ti - t_air_out))


def u_outside_albatici(
    t_surface: Values, t_air_in: Values, t_air_out: Values, emissivity: Values, wind: Values
) -> FloatArray:
    """{5.67 eps [(Ts/100)^4 - (To/100)^4] + 3.8054 v (Ts - To)} / (Ti - To). From memory.

    wind beside the wall, m/s; overcast night only. Source: albatici-2010
    """
    ts, to = np.asarray(t_surface, float), np.asarray(t_air_out, float)
    radiation = 5.67 * emissivity * ((ts / 100.0) ** 4 - (to / 100.0) ** 4)
    result: FloatArray = (radiation + 3.8054 * wind * (ts - to)) / (t_air_in - to)
    return result


def u_outside_film(t_surface: Values, t_air_in: Values, t_air_out: Values, h_outside: Values) -> FloatArray:
    """he (Tse - To) / (Ti - To), W m-2 K-1, he combined. From memory of Dall'O' 2013.

    A fixed he at low wind gives results that mean nothing. Source: dallo-2013
    """
    to = np.asarray(t_air_out, float)
    result: FloatArray = h_outside * (np.asarray(t_surface, float) - to) / (t_air_in - to)
    return result


def bridge_incidence_factor(t_pixels: ArrayLike, t_undisturbed: Values, t_air_in: Values) -> float:
    """I_tb = sum(Ti - Tpx) / [N (Ti - T1D)]; U with the bridge is I_tb times the plain U.

    t_pixels: the temperatures of the bridge's pixels, K, NaN left out. From memory.
    Source: asdrubali-2012
    """
    pixels = np.asarray(t_pixels, float)
    return float(np.nanmean(t_air_in - pixels) / (t_air_in - t_undisturbed))


# --- areas, voids, expectation ------------------------------------------------------------


def area_weighted_u(areas: ArrayLike, u_values: ArrayLike) -> float:
    """Area-weighted mean U, W m-2 K-1; areas in any one unit. Source: ashrae-parallel"""
    areas = np.asarray(areas, float)
    return float(np.sum(areas * np.asarray(u_values, float)) / np.sum(areas))


def resistance_with_void(r_sound: Values, r_void: Values, void_fraction: Values) -> FloatArray:
    """Effective R with a share of the area bare: R does not average by area, U does.

    >>> round(float(resistance_with_void(38.0, 1.6, 0.05)), 2)
    17.78

    Source: ashrae-parallel
    """
    f = np.asarray(void_fraction, float)
    return 1.0 / ((1.0 - f) / r_sound + f / r_void)


def void_fraction_from_u(u_measured: Values, u_sound: Values, u_void: Values) -> FloatArray:
    """Share of bare area that explains a mean U, clipped to 0..1. Source: ashrae-parallel"""
    share = (np.asarray(u_measured, float) - u_sound) / (np.asarray(u_void, float) - u_sound)
    return np.clip(share, 0.0, 1.0)


def expected_inside_surface(t_air_in: Values, t_air_out: Values, r_film: Values, r_total: Values) -> FloatArray:
    """Ts = Ti - (Ti - To) Rfilm / RT, K: what a sound part should read. Source: iso-6946"""
    ti = np.asarray(t_air_in, float)
    result: FloatArray = ti - (ti - t_air_out) * r_film / np.asarray(r_total, float)
    return result


def required_temperature_difference(u: Values) -> FloatArray:
    """max(5, 3/U), K: the least inside-outside difference for a qualitative survey. From memory.

    >>> float(required_temperature_difference(0.3))
    10.0

    Source: en-13187
    """
    return np.maximum(5.0, 3.0 / np.asarray(u, float))
