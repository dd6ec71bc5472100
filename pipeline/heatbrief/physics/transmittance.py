"""Thermal resistance and transmittance: from layers, from inside and outside pictures, and with voids.

Temperatures are kelvin (only differences matter unless a power of T is named), R in m2 K W-1,
U in W m-2 K-1, heat flux in W m-2 positive from inside to outside.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np

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


def layer_resistance(thickness, conductivity):
    """d / lambda, m2 K W-1; thickness m, conductivity W m-1 K-1. Source: iso-6946"""
    return np.asarray(thickness, float) / conductivity


def u_value(resistances, rsi=ISO_RSI["horizontal"], rse=ISO_RSE):
    """1 / (Rsi + sum R + Rse) of plain layers, W m-2 K-1. Source: iso-6946"""
    return 1.0 / (rsi + float(np.sum(resistances)) + rse)


def parallel_path_resistance(fractions, resistances):
    """Resistance of paths side by side, each with its whole R: 1 / sum(f/R).

    fractions must sum to 1 (error 1e-6). Also the effective R of a surface with a void.
    Source: ashrae-parallel
    """
    f, r = np.asarray(fractions, float), np.asarray(resistances, float)
    if abs(f.sum() - 1.0) > 1e-6 or np.any(f < 0.0) or np.any(r <= 0.0):
        raise ValueError("fractions must be >= 0 and sum to 1, and every resistance be above 0")
    return 1.0 / float(np.sum(f / r))


def isothermal_planes_resistance(series, fractions, resistances):
    """R of layers in series with one layer whose parts are paralleled by themselves.

    series: summed R of the whole layers (films included). Source: ashrae-parallel
    """
    return float(np.sum(series)) + parallel_path_resistance(fractions, resistances)


def combined_method(layers, rsi=ISO_RSI["horizontal"], rse=ISO_RSE) -> BridgedResistance:
    """Total resistance of layers, some bridged, as the mean of upper and lower limits.

    layers: each a resistance, or a list of [fraction, resistance] pairs. Several bridged layers
    are taken as independent (every combination is a path). ValueError for shares that do not sum
    to 1, or for more than 4096 paths.

    >>> wall = [0.132, 0.180, 0.069, [[0.85, 3.5], [0.15, 3.5 / 3]], 0.060]
    >>> round(combined_method(wall).u, 3)
    0.297

    Source: iso-6946, scottish-6b
    """
    parts = [[(1.0, float(layer))] if np.ndim(layer) == 0 else layer for layer in layers]
    films = rsi + rse
    if prod(len(part) for part in parts) > _MOST_PATHS:
        raise ValueError(f"more than {_MOST_PATHS} paths: merge the bridged layers")
    paths = [(prod(f for f, _ in path), films + sum(r for _, r in path)) for path in product(*parts)]
    upper = parallel_path_resistance(*zip(*paths, strict=True))
    lower = films + sum(parallel_path_resistance(*zip(*part, strict=True)) for part in parts)
    total = 0.5 * (upper + lower)
    return BridgedResistance(upper, lower, total, 1.0 / total, (upper - lower) / (2.0 * total))


def air_gap_correction(level, r_layer, r_total):
    """dU = dU'' (R1/RT)^2, W m-2 K-1; level 0, 1 or 2. From memory. Source: iso-6946"""
    return AIR_GAP_CORRECTION[level] * (np.asarray(r_layer, float) / r_total) ** 2


# --- from a picture -----------------------------------------------------------------------


def heat_flux_inside(t_surface, t_air_in, t_reflected, emissivity, h_convection):
    """Heat flux into an inside surface, exact T^4 radiation, W m-2 (positive: outwards).

    eps sigma (Trefl^4 - Ts^4) + hc (Ti - Ts); temperatures K. Source: tejedor-2017
    """
    ts, tr = np.asarray(t_surface, float), np.asarray(t_reflected, float)
    radiation = emissivity * STEFAN_BOLTZMANN * (tr**4 - ts**4)
    return radiation + h_convection * (np.asarray(t_air_in, float) - ts)


def u_inside_exact(t_surface, t_air_in, t_air_out, t_reflected, emissivity, h_convection):
    """U from inside with exact radiation, W m-2 K-1. Source: tejedor-2017"""
    flux = heat_flux_inside(t_surface, t_air_in, t_reflected, emissivity, h_convection)
    return flux / (np.asarray(t_air_in, float) - t_air_out)


def u_inside_madding(t_surface, t_air_in, t_air_out, t_reflected, emissivity, h_convection):
    """U from inside with 4 eps sigma Tm^3, Tm the mean of surface and reflected. From memory.

    Source: madding-2008
    """
    ts, tr = np.asarray(t_surface, float), np.asarray(t_reflected, float)
    hr = 4.0 * emissivity * STEFAN_BOLTZMANN * (0.5 * (ts + tr)) ** 3
    flux = hr * (ts - tr) + h_convection * (ts - t_air_in)
    return flux / (np.asarray(t_air_out, float) - t_air_in)


def u_inside_fokaides(t_surface, t_air_in, t_air_out, t_reflected, emissivity, h_convection=2.5):
    """U from inside with 4 eps sigma Ts^3 and a conventional hc. From memory.

    Source: fokaides-2011
    """
    ts = np.asarray(t_surface, float)
    hr = 4.0 * emissivity * STEFAN_BOLTZMANN * ts**3
    flux = hr * (ts - t_reflected) + h_convection * (ts - t_air_in)
    return flux / (np.asarray(t_air_out, float) - t_air_in)


def u_inside_tejedor(t_surface, t_air_in, t_air_out, t_reflected, emissivity, height):
    """U from inside with exact radiation and the Churchill-Chu wall coefficient, W m-2 K-1.

    height: of the wall, m. Source: tejedor-2017
    """
    h = churchill_chu_vertical(t_surface, t_air_in, height)
    return u_inside_exact(t_surface, t_air_in, t_air_out, t_reflected, emissivity, h)


def u_inside_convention(t_surface, t_air_in, t_air_out, rsi=ISO_RSI["horizontal"]):
    """(Ti - Ts) / (Rsi (Ti - To)), W m-2 K-1: the conventional film on both parts.

    Source: iso-6946
    """
    ti = np.asarray(t_air_in, float)
    return (ti - t_surface) / (rsi * (ti - t_air_out))


def u_outside_albatici(t_surface, t_air_in, t_air_out, emissivity, wind):
    """{5.67 eps [(Ts/100)^4 - (To/100)^4] + 3.8054 v (Ts - To)} / (Ti - To). From memory.

    wind beside the wall, m/s; overcast night only. Source: albatici-2010
    """
    ts, to = np.asarray(t_surface, float), np.asarray(t_air_out, float)
    radiation = 5.67 * emissivity * ((ts / 100.0) ** 4 - (to / 100.0) ** 4)
    return (radiation + 3.8054 * wind * (ts - to)) / (t_air_in - to)


def u_outside_film(t_surface, t_air_in, t_air_out, h_outside):
    """he (Tse - To) / (Ti - To), W m-2 K-1, he combined. From memory of Dall'O' 2013.

    A fixed he at low wind gives results that mean nothing. Source: dallo-2013
    """
    to = np.asarray(t_air_out, float)
    return h_outside * (np.asarray(t_surface, float) - to) / (t_air_in - to)


def bridge_incidence_factor(t_pixels, t_undisturbed, t_air_in):
    """I_tb = sum(Ti - Tpx) / [N (Ti - T1D)]; U with the bridge is I_tb times the plain U.

    t_pixels: the temperatures of the bridge's pixels, K, NaN left out. From memory.
    Source: asdrubali-2012
    """
    pixels = np.asarray(t_pixels, float)
    return float(np.nanmean(t_air_in - pixels) / (t_air_in - t_undisturbed))


# --- areas, voids, expectation ------------------------------------------------------------


def area_weighted_u(areas, u_values):
    """Area-weighted mean U, W m-2 K-1; areas in any one unit. Source: ashrae-parallel"""
    areas = np.asarray(areas, float)
    return float(np.sum(areas * np.asarray(u_values, float)) / np.sum(areas))


def resistance_with_void(r_sound, r_void, void_fraction):
    """Effective R with a share of the area bare: R does not average by area, U does.

    >>> round(float(resistance_with_void(38.0, 1.6, 0.05)), 2)
    17.78

    Source: ashrae-parallel
    """
    f = np.asarray(void_fraction, float)
    return 1.0 / ((1.0 - f) / r_sound + f / r_void)


def void_fraction_from_u(u_measured, u_sound, u_void):
    """Share of bare area that explains a mean U, clipped to 0..1. Source: ashrae-parallel"""
    share = (np.asarray(u_measured, float) - u_sound) / (np.asarray(u_void, float) - u_sound)
    return np.clip(share, 0.0, 1.0)


def expected_inside_surface(t_air_in, t_air_out, r_film, r_total):
    """Ts = Ti - (Ti - To) Rfilm / RT, K: what a sound part should read. Source: iso-6946"""
    ti = np.asarray(t_air_in, float)
    return ti - (ti - t_air_out) * r_film / np.asarray(r_total, float)


def required_temperature_difference(u):
    """max(5, 3/U), K: the least inside-outside difference for a qualitative survey. From memory.

    >>> float(required_temperature_difference(0.3))
    10.0

    Source: en-13187
    """
    return np.maximum(5.0, 3.0 / np.asarray(u, float))
