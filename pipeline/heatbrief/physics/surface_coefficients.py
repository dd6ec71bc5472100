"""Surface heat-transfer coefficients: convention, radiation, natural convection and wind.

Heat flow "up", "horizontal" and "down" follow ISO 6946. A surface "faces" up (floor, outside of
a flat roof), down (ceiling seen from the room) or sideways (wall).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatbrief.arrays import FloatArray, Mask, Values

from .air_properties import STANDARD_PRESSURE, STEFAN_BOLTZMANN, conductivity, prandtl, rayleigh

ISO_RSI = {"up": 0.10, "horizontal": 0.13, "down": 0.17}
"""Inside surface resistance, m2 K W-1, by heat-flow direction. Source: iso-6946 (seen second hand)."""
ISO_RSE = 0.04
"""Outside surface resistance, m2 K W-1. Source: iso-6946."""
ISO_H_CONVECTION = {"up": 5.0, "horizontal": 2.5, "down": 0.7}
"""Inside convective coefficient, W m-2 K-1. Source: iso-13789."""

ASHRAE_FILM = {
    "inside horizontal": 8.29,
    "inside up": 9.26,
    "inside down": 6.13,
    "outside winter": 34.0,
    "outside summer": 22.7,
}
"""Combined film coefficients, W m-2 K-1. Source: ashrae-films."""

SIMPLE_COMBINED = {
    "stucco": (11.58, 5.894, 0.0),
    "brick": (12.49, 4.065, 0.028),
    "concrete": (10.79, 4.192, 0.0),
    "clear pine": (8.23, 4.0, -0.057),
    "smooth plaster": (10.22, 3.1, 0.0),
    "glass": (8.23, 3.33, -0.036),
}
"""D, E, F of h = D + E v + F v2. Source: energyplus-outside."""
ROUGHNESS = {
    "very rough": 2.17,
    "rough": 1.67,
    "medium rough": 1.52,
    "medium smooth": 1.13,
    "smooth": 1.11,
    "very smooth": 1.00,
}
"""Roughness multiplier Rf; stucco is very rough, brick rough, glass very smooth. Source: energyplus-outside."""
TERRAIN = {
    "open": (0.14, 270.0),
    "rough or wooded": (0.22, 370.0),
    "towns": (0.33, 460.0),
    "ocean": (0.10, 210.0),
}
"""Wind-profile exponent and boundary-layer thickness (m). Source: energyplus-outside."""
_MOWITT = {True: (3.26, 0.89), False: (3.55, 0.617)}


@dataclass(frozen=True)
class Spread:
    """Lowest, middle and highest of several estimates of one quantity (same shape and unit)."""

    low: np.ndarray | float
    best: np.ndarray | float
    high: np.ndarray | float


def spread_of(estimates: Sequence[Values]) -> Spread:
    """Low, median and high over the first axis of a sequence of equally shaped estimates.

    Source: own-choice
    """
    stack = np.stack(np.broadcast_arrays(*[np.asarray(e, float) for e in estimates]))
    return Spread(stack.min(axis=0)[()], np.median(stack, axis=0)[()], stack.max(axis=0)[()])


# --- radiation and convention -------------------------------------------------------------


def radiative_coefficient(t_mean: Values, emissivity: Values = 1.0) -> FloatArray:
    """Linearised radiative coefficient 4 eps sigma Tm^3, W m-2 K-1; t_mean in K.

    >>> round(float(radiative_coefficient(293.15)), 3)
    5.714

    Source: iso-6946
    """
    return 4.0 * emissivity * STEFAN_BOLTZMANN * np.asarray(t_mean, float) ** 3


def radiative_coefficient_exact(t_surface: Values, t_other: Values, emissivity: Values = 1.0) -> FloatArray:
    """eps sigma (T1^2 + T2^2)(T1 + T2), W m-2 K-1: exact for a grey surface in large surroundings.

    Source: stefan-boltzmann
    """
    t1, t2 = np.asarray(t_surface, float), np.asarray(t_other, float)
    result: FloatArray = emissivity * STEFAN_BOLTZMANN * (t1**2 + t2**2) * (t1 + t2)
    return result


def surface_resistance(h_convection: Values, h_radiation: Values) -> FloatArray:
    """1 / (hc + hr), m2 K W-1. Source: iso-6946"""
    return 1.0 / (np.asarray(h_convection, float) + h_radiation)


def iso_outside_convection(wind: Values) -> FloatArray:
    """hce = 4 + 4 v, W m-2 K-1; wind v in m/s beside the surface. From memory of ISO 6946.

    Source: iso-6946
    """
    return 4.0 + 4.0 * np.asarray(wind, float)


# --- natural convection -------------------------------------------------------------------


def _difference(t_surface: Values, t_air: Values) -> FloatArray:
    result: FloatArray = np.abs(np.asarray(t_surface, float) - np.asarray(t_air, float))
    return result


def buoyancy_assisted(t_surface: Values, t_air: Values, cos_tilt: Values) -> Mask:
    """True where buoyancy lifts the layer off: warm and facing up, or cold and facing down.

    cos_tilt: cosine of the angle between the outward normal and straight up (+1 faces up).
    Source: energyplus-inside
    """
    result: Mask = (np.asarray(t_surface, float) - t_air) * np.asarray(cos_tilt, float) > 0.0
    return result


def tarp_vertical(t_surface: Values, t_air: Values) -> FloatArray:
    """1.31 dT^(1/3), W m-2 K-1, for walls; temperatures K. Source: energyplus-inside"""
    return 1.31 * _difference(t_surface, t_air) ** (1.0 / 3.0)


def tarp_tilted(t_surface: Values, t_air: Values, cos_tilt: Values) -> FloatArray:
    """Natural convection of any tilt, assisted or suppressed by buoyancy, W m-2 K-1.

    cos_tilt as in `buoyancy_assisted`; 0 gives `tarp_vertical`. Temperatures K.
    Source: energyplus-inside
    """
    cube_root = _difference(t_surface, t_air) ** (1.0 / 3.0)
    steep = np.abs(np.asarray(cos_tilt, float))
    assisted = 9.482 * cube_root / (7.283 - steep)
    suppressed = 1.810 * cube_root / (1.382 + steep)
    tilted = np.where(buoyancy_assisted(t_surface, t_air, cos_tilt), assisted, suppressed)
    return np.where(steep == 0.0, 1.31 * cube_root, tilted)[()]


def alamdari_hammond_vertical(t_surface: Values, t_air: Values, height: Values) -> FloatArray:
    """{[1.5(dT/H)^(1/4)]^6 + [1.23 dT^(1/3)]^6}^(1/6), W m-2 K-1; height m. From memory.

    Source: alamdari-hammond-1983
    """
    dt = _difference(t_surface, t_air)
    return ((1.5 * (dt / height) ** 0.25) ** 6 + (1.23 * dt ** (1 / 3)) ** 6) ** (1 / 6)


def alamdari_hammond_horizontal(
    t_surface: Values, t_air: Values, hydraulic_diameter: Values, cos_tilt: Values
) -> FloatArray:
    """Floors (cos_tilt +1) and ceilings (-1), W m-2 K-1; hydraulic_diameter = 4 area/perimeter, m.

    Source: energyplus-inside
    """
    dt, d = _difference(t_surface, t_air), hydraulic_diameter
    stable = 0.6 * (dt / d**2) ** 0.2
    unstable = ((1.4 * (dt / d) ** 0.25) ** 6 + (1.63 * dt ** (1 / 3)) ** 6) ** (1 / 6)
    return np.where(buoyancy_assisted(t_surface, t_air, cos_tilt), unstable, stable)[()]


def churchill_chu_vertical_nusselt(rayleigh_number: Values, prandtl_number: Values) -> FloatArray:
    """Nusselt number of a vertical plate, all Ra up to 1e12.

    >>> round(float(churchill_chu_vertical_nusselt(0.69 * 2.63e9, 0.69)), 4)
    147.1619

    Source: churchill-chu-1975
    """
    ra, pr = np.asarray(rayleigh_number, float), np.asarray(prandtl_number, float)
    return (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / pr) ** (9 / 16)) ** (8 / 27)) ** 2


def churchill_chu_vertical(
    t_surface: Values, t_air: Values, height: Values, pressure: Values = STANDARD_PRESSURE
) -> FloatArray:
    """Churchill-Chu coefficient of a vertical plate in air, W m-2 K-1; height m.

    The correlation tends to conduction (not to zero) as the difference vanishes.
    Source: churchill-chu-1975
    """
    film = 0.5 * (np.asarray(t_surface, float) + t_air)
    ra = rayleigh(t_surface, t_air, height, pressure)
    return churchill_chu_vertical_nusselt(ra, prandtl(film)) * conductivity(film) / height


def mcadams_horizontal(
    t_surface: Values, t_air: Values, length: Values, cos_tilt: Values, pressure: Values = STANDARD_PRESSURE
) -> FloatArray:
    """McAdams horizontal plate in air, W m-2 K-1; length = area/perimeter, m.

    Assisted: 0.54 Ra^(1/4) to 1e7, then 0.15 Ra^(1/3); suppressed: 0.27 Ra^(1/4).
    Source: mcadams-1954
    """
    film = 0.5 * (np.asarray(t_surface, float) + t_air)
    ra = rayleigh(t_surface, t_air, length, pressure)
    assisted = np.where(ra <= 1e7, 0.54 * ra**0.25, 0.15 * ra ** (1 / 3))
    nusselt = np.where(buoyancy_assisted(t_surface, t_air, cos_tilt), assisted, 0.27 * ra**0.25)
    return nusselt[()] * conductivity(film) / length


def rohsenow_horizontal(
    t_surface: Values, t_air: Values, length: Values, cos_tilt: Values, pressure: Values = STANDARD_PRESSURE
) -> FloatArray:
    """Horizontal plate with laminar and turbulent parts blended, W m-2 K-1; length m.

    length = area/perimeter. Coefficients as printed with the `ht` library's function.
    Source: rohsenow-1998
    """
    film = 0.5 * (np.asarray(t_surface, float) + t_air)
    ra, pr = rayleigh(t_surface, t_air, length, pressure), prandtl(film)
    c_vertical = 0.13 * pr**0.22 / (1 + 0.61 * pr**0.81) ** 0.42
    c_turbulent = 0.14 * (1 + 0.01707 * pr) / (1 + 0.01 * pr)
    tiny = 1e-300
    up = 0.835 * (0.0815 - 0.462 * c_vertical) * ra**0.25 + tiny
    assisted = ((1.4 / np.log1p(1.4 / up)) ** 10 + (c_turbulent * ra ** (1 / 3)) ** 10) ** 0.1
    down = 0.527 * ra**0.2 / (1 + (1.9 / pr) ** 0.9) ** (2 / 9) + tiny
    suppressed = 2.5 / np.log1p(2.5 / down)
    nusselt = np.where(buoyancy_assisted(t_surface, t_air, cos_tilt), assisted, suppressed)
    return nusselt[()] * conductivity(film) / length


def convection_spread(
    t_surface: Values, t_air: Values, facing: str, length: Values = 2.5, width: Values | None = None
) -> Spread:
    """Low, best (median) and high inside convective coefficient over the correlations, W m-2 K-1.

    facing: "sideways" (wall), "up" (floor) or "down" (ceiling). length: height of a wall, or one
    side of a floor or ceiling, m; width: its other side (same as length if not given).
    The conventional ISO value is one of the members, so the span covers the usual report too.
    Correlations differ by about 20 % (walls) to 3 times (suppressed ceilings), and a U-value
    from one picture is never surer than that in its convective part.

    >>> s = convection_spread(288.15, 293.15, "sideways", 2.44)
    >>> bool(s.low < s.best < s.high)
    True

    Source: iso-13789, energyplus-inside, churchill-chu-1975, mcadams-1954, rohsenow-1998,
        alamdari-hammond-1983
    """
    members: list[Values]
    if facing == "sideways":
        members = [
            tarp_vertical(t_surface, t_air),
            alamdari_hammond_vertical(t_surface, t_air, length),
            churchill_chu_vertical(t_surface, t_air, length),
            ISO_H_CONVECTION["horizontal"],
        ]
        return spread_of(members)
    if facing not in ("up", "down"):
        raise ValueError(f"facing must be sideways, up or down, not {facing!r}")
    cos_tilt = 1.0 if facing == "up" else -1.0
    side = length if width is None else width
    ratio = length * side / (2.0 * (length + side))
    assisted = buoyancy_assisted(t_surface, t_air, cos_tilt)
    members = [
        tarp_tilted(t_surface, t_air, cos_tilt),
        alamdari_hammond_horizontal(t_surface, t_air, 4.0 * ratio, cos_tilt),
        mcadams_horizontal(t_surface, t_air, ratio, cos_tilt),
        rohsenow_horizontal(t_surface, t_air, ratio, cos_tilt),
        np.where(assisted, ISO_H_CONVECTION["up"], ISO_H_CONVECTION["down"]),
    ]
    return spread_of(members)


# --- outside convection -------------------------------------------------------------------


def simple_combined(wind: Values, surface: str = "brick") -> FloatArray:
    """Convection and radiation together, D + E v + F v2, W m-2 K-1; wind m/s.

    >>> round(float(simple_combined(3.0, "brick")), 3)
    24.937

    Source: energyplus-outside
    """
    d, e, f = SIMPLE_COMBINED[surface]
    v = np.asarray(wind, float)
    return d + e * v + f * v**2


def tarp_forced(
    wind: Values, perimeter: Values, area: Values, roughness: str = "rough", windward: bool = True
) -> FloatArray:
    """Forced part 2.537 Wf Rf (P v / A)^(1/2), W m-2 K-1; wind m/s, perimeter m, area m2.

    Add `tarp_tilted` for the natural part. Leeward means more than 100 degrees off the wind.
    Source: energyplus-outside
    """
    side = 1.0 if windward else 0.5
    return 2.537 * side * ROUGHNESS[roughness] * np.sqrt(perimeter * np.asarray(wind, float) / area)


def mowitt(t_surface: Values, t_air: Values, wind: Values, windward: bool = True) -> FloatArray:
    """Smooth facade in the field, sqrt([0.84 dT^(1/3)]^2 + [a v^b]^2), W m-2 K-1.

    Source: energyplus-outside
    """
    a, b = _MOWITT[bool(windward)]
    natural = 0.84 * _difference(t_surface, t_air) ** (1 / 3)
    result: FloatArray = np.hypot(natural, a * np.asarray(wind, float) ** b)
    return result


def doe2(
    t_surface: Values,
    t_air: Values,
    wind: Values,
    roughness: str = "rough",
    windward: bool = True,
    cos_tilt: Values = 0.0,
) -> FloatArray:
    """Rough facade: hn + Rf (hglass - hn) with hglass = sqrt(hn^2 + [a v^b]^2), W m-2 K-1.

    Source: energyplus-outside
    """
    a, b = _MOWITT[bool(windward)]
    natural = tarp_tilted(t_surface, t_air, cos_tilt)
    glass = np.hypot(natural, a * np.asarray(wind, float) ** b)
    return natural + ROUGHNESS[roughness] * (glass - natural)


def juerges(wind: Values) -> FloatArray:
    """5.8 + 3.8054 v, W m-2 K-1, v below 5 m/s. From memory. Source: juerges-1924"""
    return 5.8 + 3.8054 * np.asarray(wind, float)


def mcadams_wind(wind: Values) -> FloatArray:
    """5.7 + 3.8 v, W m-2 K-1, v below 5 m/s. From memory. Source: mcadams-1954"""
    return 5.7 + 3.8 * np.asarray(wind, float)


def wind_at_height(
    wind_met: Values, height: Values, terrain: str = "towns", met_height: Values = 10.0, met_terrain: str = "open"
) -> FloatArray:
    """Wind at a height above ground of other roughness than the weather station's, m/s.

    v_met (delta_met/z_met)^a_met (z/delta)^a. Heights m.
    Source: energyplus-outside
    """
    exponent, layer = TERRAIN[terrain]
    met_exponent, met_layer = TERRAIN[met_terrain]
    at_top = np.asarray(wind_met, float) * (met_layer / met_height) ** met_exponent
    result: FloatArray = at_top * (np.asarray(height, float) / layer) ** exponent
    return result


def outside_convection_spread(
    t_surface: Values, t_air: Values, wind: Values, height: Values = 2.5, roughness: str = "rough"
) -> Spread:
    """Low, best and high outside convection of a wall, windward and leeward, W m-2 K-1.

    height: of the wall region (its aspect is taken square), m; wind beside the wall, m/s.
    Source: iso-6946, energyplus-outside, juerges-1924
    """
    natural = tarp_vertical(t_surface, t_air)
    members = [iso_outside_convection(wind), juerges(wind)]
    for windward in (True, False):
        forced = tarp_forced(wind, 4.0 * height, height**2, roughness, windward)
        members += [
            natural + forced,
            mowitt(t_surface, t_air, wind, windward),
            doe2(t_surface, t_air, wind, roughness, windward),
        ]
    return spread_of(members)


def longwave_shares(cos_tilt: Values) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Shares of long-wave exchange with (sky, air, ground) for an outside surface; they sum to 1.

    cos_tilt: +1 faces up, 0 vertical, -1 faces down. Ground is taken at air temperature.
    Source: energyplus-outside
    """
    cos_tilt = np.asarray(cos_tilt, float)
    upper = 0.5 * (1.0 + cos_tilt)
    beta = np.sqrt(upper)
    return upper * beta, upper * (1.0 - beta), 0.5 * (1.0 - cos_tilt)
