"""Water: leaks through holes, drips, evaporation; heat of pipes, tanks, radiators and floors.

SI: pressure Pa, flow m3/s, temperatures K, vapour pressures Pa, mass flux kg m-2 s-1.
"""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .air_properties import (
    HEAT_CAPACITY_DRY_AIR,
    STANDARD_PRESSURE,
    conductivity,
    prandtl,
    rayleigh,
)
from .surface_coefficients import radiative_coefficient_exact

WATER_DENSITY = 999.10
"""kg m-3 at 15 degC. Source: coolprop."""
WATER_HEAT_CAPACITY = 4186.0
"""J kg-1 K-1."""
ICE_FUSION_HEAT = 334000.0
"""J kg-1."""
ORIFICE_DISCHARGE = 0.61
"""Discharge coefficient of a small sharp hole; published leak tables imply 0.61 to 0.64. Source: leak-tables."""
ORIFICE_SPREAD = 0.20
"""Relative bound to print with any leak flow from a hole size. Source: leak-tables."""
DROP_VOLUME = (0.25e-6, 0.33e-6, 0.36e-6)
"""Low, usual and high volume of one drop, m3: published counts differ this much. Source: usgs-drip."""
QUIET_POOL = 0.74
"""Measured share of the Carrier rate over undisturbed water. Source: smith-lof-jones."""


# --- leaks --------------------------------------------------------------------------------


def leak_flow(
    diameter: Values, pressure: Values, discharge: Values = ORIFICE_DISCHARGE, density: Values = WATER_DENSITY
) -> FloatArray:
    """Cd (pi/4) d2 sqrt(2 p / rho), m3/s, freely discharging; state +-20 %.

    diameter m, pressure Pa gauge. In soil the flow may be lower; plastic holes open with pressure.
    Source: leak-tables
    """
    area = 0.25 * np.pi * np.asarray(diameter, float) ** 2
    return discharge * area * np.sqrt(2.0 * np.asarray(pressure, float) / density)


def implied_discharge(flow: Values, diameter: Values, pressure: Values, density: Values = WATER_DENSITY) -> FloatArray:
    """Discharge coefficient a stated leak implies; far from 0.6 the statement is doubtful.

    Source: leak-tables
    """
    return np.asarray(flow, float) / leak_flow(diameter, pressure, 1.0, density)


def drip_flow(drops_per_second: Values, drop_volume: Values = DROP_VOLUME[1]) -> FloatArray:
    """Flow of a drip, m3/s. Source: usgs-drip"""
    return np.asarray(drops_per_second, float) * drop_volume


def heated_water_energy(volume: Values, temperature_rise: Values) -> FloatArray:
    """Heat to warm a volume of water, J; volume m3. Source: common-practice"""
    return np.asarray(volume, float) * 1000.0 * WATER_HEAT_CAPACITY * temperature_rise


# --- evaporation --------------------------------------------------------------------------


def latent_heat(t_k: Values) -> FloatArray:
    """(2501 - 2.361 t) kJ/kg as J/kg, t in degC; 0.4 % high at 100 degC. Source: ashrae-psychrometrics"""
    return 1e3 * (2501.0 - 2.361 * (np.asarray(t_k, float) - 273.15))


def evaporation_carrier(
    p_water: Values, p_air: Values, air_speed: Values, t_water: Values, activity: Values = 1.0
) -> FloatArray:
    """Carrier's pool form in SI, (0.089 + 0.0782 V)(pw - pa) Fa / Y, kg m-2 s-1. From memory.

    p_water: saturation pressure at the water, p_air: vapour pressure of the air, Pa; air_speed m/s.
    activity: 1 as written, about 0.74 for undisturbed water. Negative means condensation.
    Source: carrier-pool, smith-lof-jones
    """
    drive = np.asarray(p_water, float) - p_air
    return (0.089 + 0.0782 * np.asarray(air_speed, float)) * drive * activity / latent_heat(t_water)


def evaporation_lewis(h_convection: Values, w_surface: Values, w_air: Values, lewis: Values = 1.0) -> FloatArray:
    """Dalton-Lewis (hc/cp) Le^(-2/3) (Ws - Wa), kg m-2 s-1; humidity ratios kg/kg.

    cp is that of the moist air, 1006 + 1860 Wa: with Le = 1 and no radiation the balance then
    ends at the wet bulb.
    Source: lewis
    """
    humid_heat = HEAT_CAPACITY_DRY_AIR + 1860.0 * np.asarray(w_air, float)
    transfer = np.asarray(h_convection, float) / humid_heat * lewis ** (-2.0 / 3.0)
    return transfer * (np.asarray(w_surface, float) - w_air)


def evaporation_penman(
    t_air: Values, humidity: Values, wind: Values, net_radiation: Values, pressure: Values = STANDARD_PRESSURE
) -> FloatArray:
    """Penman in Shuttleworth's form, kg m-2 s-1 (1 mm/day is 1.157e-5). From memory.

    [D Rn + g 6.43 (1 + 0.536 u) (es - ea)] / [lam (D + g)]. t_air K, humidity 0..1, wind at 2 m
    m/s, net_radiation W m-2 (0 in full shade). Open water or a wet surface, daily means.
    Source: penman-shuttleworth
    """
    from .psychrometrics import saturation_pressure, saturation_slope

    lam = latent_heat(t_air) / 1e6
    slope = saturation_slope(t_air) / 1e3
    gamma = 1.013e-3 * pressure / 1e3 / (0.622 * lam)
    deficit = (1.0 - np.asarray(humidity, float)) * saturation_pressure(t_air) / 1e3
    aerial = 6.43 * (1.0 + 0.536 * np.asarray(wind, float)) * deficit
    radiant = np.asarray(net_radiation, float) * 0.0864
    return (slope * radiant + gamma * aerial) / (lam * (slope + gamma)) / 86400.0


def evaporative_flux(mass_flux: Values, t_k: Values) -> FloatArray:
    """Heat taken by evaporation, W m-2. Source: ashrae-psychrometrics"""
    return np.asarray(mass_flux, float) * latent_heat(t_k)


def seep_from_wet_area(area: Values, mass_flux: Values) -> FloatArray:
    """Least steady seepage that keeps an area wet: what evaporates, m3/s; area m2.

    Anything that drains or soaks away comes on top. Source: mass-balance
    """
    return np.asarray(area, float) * np.maximum(mass_flux, 0.0) / 1000.0


# --- pipes, tanks, radiators, floors ------------------------------------------------------


def churchill_chu_cylinder_nusselt(rayleigh_number: Values, prandtl_number: Values) -> FloatArray:
    """Nusselt number of a horizontal cylinder, Ra 1e-5 to 1e12. Source: churchill-chu-cylinder"""
    ra, pr = np.asarray(rayleigh_number, float), np.asarray(prandtl_number, float)
    return (0.6 + 0.387 * ra ** (1 / 6) / (1 + (0.559 / pr) ** (9 / 16)) ** (8 / 27)) ** 2


def pipe_convection(t_surface: Values, t_air: Values, diameter: Values) -> FloatArray:
    """Natural convection of a horizontal pipe in air, W m-2 K-1; diameter m.

    Source: churchill-chu-cylinder
    """
    film = 0.5 * (np.asarray(t_surface, float) + t_air)
    nusselt = churchill_chu_cylinder_nusselt(rayleigh(t_surface, t_air, diameter), prandtl(film))
    return nusselt * conductivity(film) / diameter


def bare_pipe_loss(t_surface: Values, t_air: Values, diameter: Values, emissivity: Values = 0.9) -> FloatArray:
    """pi D (hc + hr) dT of a bare horizontal pipe, W per metre (negative: gains).

    Surroundings at air temperature; emissivity about 0.9 painted, 0.05 to 0.1 bright copper.
    Source: churchill-chu-cylinder, stefan-boltzmann
    """
    h = pipe_convection(t_surface, t_air, diameter)
    h = h + radiative_coefficient_exact(t_surface, t_air, emissivity)
    return np.pi * diameter * h * (np.asarray(t_surface, float) - t_air)


def insulated_pipe_loss(
    t_pipe: Values, t_air: Values, diameter: Values, thickness: Values, k_insulation: Values, h_surface: Values = 9.0
) -> FloatArray:
    """dT / [ln(Do/D)/(2 pi k) + 1/(h pi Do)], W per metre. Source: cylinder-conduction"""
    outer = diameter + 2.0 * np.asarray(thickness, float)
    resistance = np.log(outer / diameter) / (2.0 * np.pi * k_insulation)
    resistance = resistance + 1.0 / (h_surface * np.pi * outer)
    return (np.asarray(t_pipe, float) - t_air) / resistance


def insulated_pipe_skin(
    t_pipe: Values, t_air: Values, diameter: Values, thickness: Values, k_insulation: Values, h_surface: Values = 9.0
) -> FloatArray:
    """Surface temperature of the insulation, K. Source: cylinder-conduction"""
    loss = insulated_pipe_loss(t_pipe, t_air, diameter, thickness, k_insulation, h_surface)
    return t_air + loss / (h_surface * np.pi * (diameter + 2.0 * np.asarray(thickness, float)))


def freeze_times(diameter: Values, t_water: Values, t_air: Values, h_surface: Values) -> tuple[FloatArray, FloatArray]:
    """Seconds for still water in a bare pipe to reach 0 degC, then to freeze through.

    diameter of a pipe without a wall m, otherwise four times the water's section over the outer girth;
    h_surface combined coefficient W m-2 K-1; (inf, inf) when the air is not below freezing.
    Supercooling and the pipe's own heat are left out. Source: lumped-balance
    """
    below = 273.15 - np.asarray(t_air, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        cooling = 1000.0 * WATER_HEAT_CAPACITY * diameter / (4.0 * h_surface)
        cooling = cooling * np.log((np.asarray(t_water, float) - t_air) / below)
        freezing = 1000.0 * ICE_FUSION_HEAT * diameter / (4.0 * h_surface * below)
    cold = below > 0.0
    return np.where(cold, cooling, np.inf)[()], np.where(cold, freezing, np.inf)[()]


def tank_conductance(
    area: Values, thickness: Values, k_insulation: Values, surface_resistance: Values = 0.13
) -> FloatArray:
    """UA of an insulated tank, W/K: area over (d/k + surface resistance). Source: iso-6946"""
    return np.asarray(area, float) / (thickness / k_insulation + surface_resistance)


def tank_cooling_rate(conductance: Values, temperature_difference: Values, volume: Values) -> FloatArray:
    """Kelvin per second lost by a standing tank; volume m3. Source: lumped-balance"""
    heat = np.asarray(conductance, float) * temperature_difference
    return heat / (volume * 1000.0 * WATER_HEAT_CAPACITY)


def radiator_output_ratio(mean_difference: Values, exponent: Values = 1.3, reference: Values = 50.0) -> FloatArray:
    """(dT / 50)^1.3: share of the rated output. From memory. Source: en-442"""
    return (np.asarray(mean_difference, float) / reference) ** exponent


def floor_output(surface_difference: Values) -> FloatArray:
    """8.92 (Tfloor - Troom)^1.1, W m-2 upwards. From memory. Source: en-1264"""
    result: FloatArray = 8.92 * np.maximum(np.asarray(surface_difference, float), 0.0) ** 1.1
    return result
